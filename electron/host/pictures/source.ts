import { createHash } from 'node:crypto';
import { readFile, stat } from 'node:fs/promises';
import { MAX_UPLOAD_BYTES, answer, refuse } from '../../../shared/index.ts';
import type { Outcome } from '../../../shared/index.ts';
import type { PictureSource } from '../engine-protocol.ts';

/** The bytes behind a source; with a hash, exactly the bytes that were stored, or a refusal. */
export async function bytesOf(source: PictureSource): Promise<Outcome<Uint8Array>> {
  if ('bytes' in source) return answer(source.bytes);
  const read = await readFileBounded(source.path);
  if (!read.ok || source.sha256 === undefined) return read;
  if (createHash('sha256').update(read.value).digest('hex') === source.sha256) return read;
  return refuse(
    'unreadable-image',
    'The stored original is no longer what was added: the file was changed or damaged. Nothing was measured. ' +
      'Take it back from a backup.',
  );
}

async function readFileBounded(path: string): Promise<Outcome<Uint8Array>> {
  try {
    // Asked before opening: opening a pipe would wait for somebody to write into it.
    const found = await stat(path);
    if (!found.isFile()) return refuse('unreadable-image', `${path} is no file.`);
    if (found.size > MAX_UPLOAD_BYTES)
      return refuse('unreadable-image', `${path} is larger than ${MAX_UPLOAD_BYTES / 2 ** 20} MB.`);
    return answer(new Uint8Array(await readFile(path)));
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (code === 'ENOENT') return refuse('unreadable-image', `There is no file ${path}.`);
    return refuse('unreadable-image', `${path} cannot be read (${code ?? 'unknown reason'}).`);
  }
}
