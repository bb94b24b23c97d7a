/** A file name out of a person's words that every file system takes. */
const RESERVED = /^(con|prn|aux|nul|com\d|lpt\d)$/i;

export function safeFileName(words: string, otherwise = 'unnamed'): string {
  const plain = words
    .normalize('NFC')
    .replaceAll(/[^\p{L}\p{N} ,()+-]/gu, '-')
    .replaceAll(/\s+/g, ' ')
    .slice(0, 60)
    .replaceAll(/^[ -]+|[ -]+$/g, '');
  if (plain === '') return otherwise;
  return RESERVED.test(plain) ? `${plain}-` : plain;
}
