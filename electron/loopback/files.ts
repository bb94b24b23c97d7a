import { readFile } from 'node:fs/promises';
import { extname, join, resolve, sep } from 'node:path';

/** The window's own built files, from one folder and nothing outside it; used by both shells. */
const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.webp': 'image/webp',
  '.woff2': 'font/woff2',
  '.json': 'application/json; charset=utf-8',
  '.txt': 'text/plain; charset=utf-8',
};

export type ServedFile = { readonly bytes: Uint8Array; readonly type: string };

/** Path of a URL to a file of the folder, or null for anything that is not plainly one. */
export function fileFor(folder: string, urlPath: string): string | null {
  let path: string;
  try {
    path = decodeURIComponent(urlPath);
  } catch {
    return null;
  }
  if (!/^\/([\w./-]*\w)?$/.test(path) || path.includes('..') || path.includes('/.')) return null;
  const file = resolve(join(folder, path === '/' ? 'index.html' : path));
  if (!file.startsWith(resolve(folder) + sep) || TYPES[extname(file)] === undefined) return null;
  return file;
}

export async function serveFile(folder: string, urlPath: string): Promise<ServedFile | null> {
  const file = fileFor(folder, urlPath);
  if (file === null) return null;
  try {
    return { bytes: await readFile(file), type: TYPES[extname(file)] };
  } catch {
    return null;
  }
}
