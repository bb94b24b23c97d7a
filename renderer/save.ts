/** Hands a file to the person. A name made of their own words is made safe for every file system first. */
export function save(blob: Blob, fileName: string): void {
  const url = URL.createObjectURL(blob);
  const link = document.createElement('a');
  link.href = url;
  link.download = safeName(fileName);
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}

export const safeName = (name: string): string =>
  name
    .replace(/[\p{Cc}<>:"/\\|?*]/gu, '-')
    .replace(/\s+/g, ' ')
    .trim()
    .slice(-120);
