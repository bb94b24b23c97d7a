import { readFileSync } from 'node:fs';
import fs from 'node:fs/promises';
import { syncBuiltinESMExports } from 'node:module';
import { basename, dirname } from 'node:path';

/**
 * Loaded into the program under test before anything else: a disk that can be held up. While the file that DAYBOOK_GATE
 * names is there, as many waiting pictures as the number in it move to originals/, and the next one waits until the file
 * is gone. So a story stops the program at the picture that it means, however fast the machine is.
 */
const gate = process.env.DAYBOOK_GATE ?? '';
const inFolder = (path, name) => basename(dirname(String(path))) === name;
const pause = () => new Promise((resolve) => setTimeout(resolve, 10));

/** Null: the gate is open. */
function allowed() {
  try {
    return Number(readFileSync(gate, 'utf8'));
  } catch {
    return null;
  }
}

let moved = 0;
const { rename } = fs;
fs.rename = async function held(from, to) {
  if (inFolder(from, 'incoming') && inFolder(to, 'originals')) {
    while (allowed() !== null && moved >= allowed()) await pause();
    moved = allowed() === null ? 0 : moved + 1;
  }
  return rename(from, to);
};
syncBuiltinESMExports();
