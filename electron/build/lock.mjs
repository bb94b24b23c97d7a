import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { setTimeout as pause } from 'node:timers/promises';

const WAIT_MS = 120_000;
/** A lock file is written in one go; one that stays without a readable holder was left by a crash in between. */
const EMPTY_AFTER_MS = 2_000;

function holderIsAlive(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === 'EPERM';
  }
}

function tryTake(file) {
  try {
    writeFileSync(file, String(process.pid), { flag: 'wx' });
    return true;
  } catch (error) {
    if (error.code === 'EEXIST') return false;
    throw error;
  }
}

function holderOf(file) {
  try {
    return Number(readFileSync(file, 'utf8'));
  } catch {
    return 0;
  }
}

/**
 * Runs `work` while no other process builds. A holder that died is overruled.
 * @template T
 * @param {string} file
 * @param {() => Promise<T>} work
 * @returns {Promise<T>}
 */
export async function withBuildLock(file, work) {
  const started = Date.now();
  let emptySince = 0;
  while (!tryTake(file)) {
    const holder = holderOf(file);
    if (holder > 0) emptySince = 0;
    else if (emptySince === 0) emptySince = Date.now();
    const dead = holder > 0 ? !holderIsAlive(holder) : Date.now() - emptySince > EMPTY_AFTER_MS;
    if (dead) rmSync(file, { force: true });
    else await pause(50);
    if (Date.now() - started > WAIT_MS)
      throw new Error(`another build (process ${holder}) has not ended in ${WAIT_MS / 1000} s`);
  }
  try {
    return await work();
  } finally {
    if (holderOf(file) === process.pid) rmSync(file, { force: true });
  }
}
