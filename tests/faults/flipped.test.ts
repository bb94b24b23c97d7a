import { cpSync, existsSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { checkCollection } from '../../electron/host/keeping/check.ts';
import { originalRows } from '../../electron/host/store/staged.ts';
import { addEntry } from '../../electron/host/store/entries.ts';
import { fill, open, rowsOf } from '../electron/keeping/making.ts';
import { temporaryFolder } from '../electron/support.ts';

/**
 * Single bits turned over on the disk, in the pictures, the database and its log. A picture's change is always found. A
 * database has no checksums: a bit inside a text changes that text and nothing notices; what is promised is that no
 * flipped bit makes the program fall over, lose a picture, or open something that it then cannot read.
 */
async function prepared(): Promise<string> {
  const folder = join(temporaryFolder(), 'collection');
  const collection = await open(folder);
  const { stylus } = await fill(collection, 'First', [30, 60]);
  for (let i = 0; i < 40; i++)
    addEntry(collection.db, {
      stylusId: stylus.id,
      kind: 'note',
      date: '2024-01-02',
      played: null,
      text: `note ${i} ${'x'.repeat(200)}`,
    });
  collection.close();
  return folder;
}

/** A fixed sequence, so that a failure can be repeated (Park and Miller's minimal standard). */
function* sequence(seed: number): Generator<number> {
  for (let state = seed; ;) {
    state = (state * 48_271) % 2_147_483_647;
    yield state;
  }
}

function flip(file: string, place: number, bit: number): void {
  const bytes = readFileSync(file);
  bytes[place % bytes.length] ^= 1 << (bit % 8);
  writeFileSync(file, bytes);
}

describe('a flipped bit', () => {
  it('in a picture is always found', async () => {
    const folder = await prepared();
    const collection = await open(folder);
    const [{ sha256 }] = originalRows(collection.db);
    const file = join(folder, 'originals', `${sha256}.png`);
    const good = readFileSync(file);
    const random = sequence(7);
    for (let i = 0; i < 60; i++) {
      flip(file, random.next().value, random.next().value);
      const { ok, originals } = await checkCollection(collection);
      expect([ok, originals.damaged.map((one) => one.file), originals.fine]).toEqual([
        false,
        [`${sha256}.png`],
        1,
      ]);
      writeFileSync(file, good);
    }
    expect((await checkCollection(collection)).ok).toBe(true);
    collection.close();
  });

  it('in the database is refused, found, or changes a value and nothing else', async () => {
    const template = await prepared();
    const folder = `${template} flipped`;
    const random = sequence(11);
    const sentences: string[] = [];
    const outcomes = { refused: 0, found: 0, unnoticed: 0 };
    const flips = process.env['DAYBOOK_FAULTS'] === 'all' ? 1500 : 60;
    for (let i = 0; i < flips; i++) {
      rmSync(folder, { recursive: true, force: true });
      cpSync(template, folder, { recursive: true });
      flip(join(folder, 'daybook.sqlite'), random.next().value, random.next().value);
      const collection = await open(folder).catch((error: unknown) => error as Error & { code?: string });
      if (collection instanceof Error) {
        sentences.push(collection.message);
        outcomes.refused++;
      } else {
        const { ok } = await checkCollection(collection);
        outcomes[ok ? 'unnoticed' : 'found']++;
        collection.close();
      }
      // Wherever it ended: in originals/, or in bin/ when no row names it any more.
      const kept = ['originals', 'bin'].flatMap((name) =>
        existsSync(join(folder, name)) ? readdirSync(join(folder, name)) : [],
      );
      expect(kept).toHaveLength(2);
    }
    console.log(`${flips} flipped bits in the database: ${JSON.stringify(outcomes)}`);
    expect(outcomes.refused + outcomes.found).toBeGreaterThan(0);
    const known = /Nothing was changed|disk image|malformed|schema|no such/;
    expect(sentences.filter((sentence) => !known.test(sentence))).toEqual([]);
  }, 600_000);

  it('in the log costs at most what came after it, and never half a step', async () => {
    const template = await prepared();
    // The log of a program that was cut off: copied while it is open, as a power cut would leave it.
    const live = await open(template);
    const stylusId = String(live.db.get('SELECT id FROM stylus')?.['id']);
    const states = [rowsOf(live)];
    for (let i = 0; i < 12; i++) {
      addEntry(live.db, { stylusId, kind: 'note', date: '2024-02-01', played: null, text: `late ${i}` });
      states.push(rowsOf(live));
    }
    const cut = `${template} cut off`;
    cpSync(template, cut, { recursive: true, filter: (path) => !path.endsWith('owner.lock') });
    live.close();
    const wal = join(cut, 'daybook.sqlite-wal');
    expect(readFileSync(wal).length).toBeGreaterThan(4096 * 12);
    const seen = states.map((state) => JSON.stringify(state));
    const random = sequence(13);
    const folder = `${template} log`;
    const lost: number[] = [];
    for (let i = 0; i < 60; i++) {
      rmSync(folder, { recursive: true, force: true });
      cpSync(cut, folder, { recursive: true });
      flip(join(folder, 'daybook.sqlite-wal'), random.next().value, random.next().value);
      const collection = await open(folder);
      const at = seen.indexOf(JSON.stringify(rowsOf(collection)));
      expect(at).toBeGreaterThanOrEqual(0);
      lost.push(states.length - 1 - at);
      expect((await checkCollection(collection)).ok).toBe(true);
      collection.close();
    }
    // Untouched, the same log brings back everything.
    const whole = await open(cut);
    expect(JSON.stringify(rowsOf(whole))).toBe(seen.at(-1));
    whole.close();
    expect(Math.max(...lost)).toBeGreaterThan(0);
  }, 120_000);
});
