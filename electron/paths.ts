import { existsSync, readFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

/** Where the built program and its data lie. Every built file is in one folder, dist/host. */
const hostFolder = dirname(fileURLToPath(import.meta.url));

export const workerFile = join(hostFolder, 'engine-worker.js');
export const preloadFile = join(hostFolder, 'preload.cjs');
export const rendererFolder = join(hostFolder, '..', 'renderer');
export const projectFolder = join(hostFolder, '..', '..');

export function demoFolder(): string | null {
  const folder = join(hostFolder, '..', 'demo');
  return existsSync(join(folder, 'demo.json')) ? folder : null;
}

export function programVersion(): string {
  const text = readFileSync(join(projectFolder, 'package.json'), 'utf8');
  return (JSON.parse(text) as { version: string }).version;
}

/** This machine's place for a program's own data, never one that roams or is synchronised. */
export function dataFolder(env: NodeJS.ProcessEnv = process.env): string {
  const home = homedir();
  if (process.platform === 'darwin') return join(home, 'Library', 'Application Support', 'Stylus Daybook');
  if (process.platform === 'win32')
    return join(env['LOCALAPPDATA'] ?? join(home, 'AppData', 'Local'), 'Stylus Daybook');
  return join(env['XDG_DATA_HOME'] || join(home, '.local', 'share'), 'stylus-daybook');
}

export function collectionFolder(env: NodeJS.ProcessEnv = process.env): string {
  const given = env['DAYBOOK_COLLECTION'];
  return given ? resolve(given) : join(dataFolder(env), 'collection');
}
