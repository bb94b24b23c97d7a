import { DatabaseSync } from '@photostructure/sqlite';
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { z } from 'zod';
import { Refusal } from '../../../shared/index.ts';

/**
 * One owner for a collection, whatever program opens it. The lock itself is an exclusive transaction on a small
 * database of its own: the system lets it go at the moment the owner dies, so no stale lock can lock anybody out.
 * Who holds it stands in a plain file beside it, for the loser's message only.
 */
export type CollectionLock = { release(): void };

const holderSchema = z.object({ who: z.string(), pid: z.number(), host: z.string(), since: z.string() });
type Holder = z.infer<typeof holderSchema>;

function readHolder(file: string): Holder | null {
  try {
    return holderSchema.parse(JSON.parse(readFileSync(file, 'utf8')));
  } catch {
    return null;
  }
}

function inUse(holder: Holder | null): Refusal {
  const who = holder
    ? `${holder.who} on ${holder.host} (process ${holder.pid}, since ${holder.since})`
    : 'another program';
  return new Refusal(
    'collection-in-use',
    `The collection is open in ${who}. Go on there, or close it and start again. Nothing was opened.`,
  );
}

const isBusy = (error: unknown): boolean =>
  /locked|busy/i.test(error instanceof Error ? error.message : String(error));

export function takeLock(folder: string, who: string): CollectionLock {
  const holderFile = join(folder, 'owner.json');
  const connection = new DatabaseSync(join(folder, 'owner.lock'), { timeout: 200 });
  try {
    connection.exec('PRAGMA journal_mode = DELETE');
    connection.exec('BEGIN EXCLUSIVE');
  } catch (error) {
    connection.close();
    if (isBusy(error)) throw inUse(readHolder(holderFile));
    throw error;
  }
  const holder: Holder = { who, pid: process.pid, host: hostname(), since: new Date().toISOString() };
  writeFileSync(holderFile, JSON.stringify(holder));
  return {
    release() {
      rmSync(holderFile, { force: true });
      connection.exec('ROLLBACK');
      connection.close();
    },
  };
}
