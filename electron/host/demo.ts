import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import { Refusal, captureSchema, entryDraftSchema, stylusDraftSchema } from '../../shared/index.ts';
import type { Context } from './context.ts';
import { compareCaptures, measureCapture } from './measuring.ts';
import { addCapture } from './store/captures.ts';
import type { NewCapture } from './store/captures.ts';
import { newId, nowUtc, updateRow } from './store/changes.ts';
import type { Database } from './store/database.ts';
import { addEntry } from './store/entries.ts';
import { outsideGestures } from './store/gestures.ts';
import { createStylus, retireStylus } from './store/styluses.ts';

/**
 * The demo collection: invented styluses with rendered pictures, brought in by the same path as anybody's pictures and
 * measured by the same engine. Nothing in it is a stored answer.
 */
const captureFactsSchema = captureSchema
  .pick({
    fileName: true,
    view: true,
    light: true,
    mirrored: true,
    taken: true,
    scale: true,
    microscope: true,
    isBaseline: true,
    notes: true,
  })
  .extend({ key: z.string(), file: z.string().regex(/^[\w-]+\.(jpg|png|tif|webp)$/) });

const demoSchema = z.object({
  styluses: z.array(
    z.object({
      draft: stylusDraftSchema,
      retired: z.object({ date: z.string(), reason: z.string() }).nullable().default(null),
      captures: z.array(captureFactsSchema),
      entries: z.array(entryDraftSchema.omit({ stylusId: true })),
      /** Keys of captures: what to measure once they are in. */
      compare: z.array(z.tuple([z.string(), z.string()])).default([]),
      examine: z.array(z.string()).default([]),
      cantilever: z.array(z.string()).default([]),
    }),
  ),
});
type Demo = z.infer<typeof demoSchema>;

const pendingSchema = z.array(
  z.discriminatedUnion('what', [
    z.object({ what: z.literal('compare'), baselineId: z.string(), laterId: z.string() }),
    z.object({ what: z.enum(['examination', 'cantilever']), id: z.string() }),
  ]),
);
type Pending = z.infer<typeof pendingSchema>;

const PENDING = 'demo-pending';
const OFFERED = 'demo-offered';
const LOOK_LIMIT_MS = 45_000;

export const demoPresent = (db: Database): boolean =>
  db.get('SELECT 1 FROM stylus WHERE demo = 1 AND binned_at IS NULL LIMIT 1') !== undefined;

function setting(db: Database, name: string): string | null {
  const value = db.get('SELECT value FROM setting WHERE name = ?', name)?.['value'];
  return typeof value === 'string' ? value : null;
}

function setSetting(db: Database, name: string, value: string): void {
  db.run(
    'INSERT INTO setting VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value',
    name,
    value,
  );
}

/** Into the bin, not away: somebody may have put pictures of their own on a demo stylus. */
export function removeDemo(db: Database): void {
  const rows = db.all('SELECT id FROM stylus WHERE demo = 1 AND binned_at IS NULL');
  db.transaction(() => {
    for (const row of rows) updateRow(db, 'stylus', String(row['id']), 'binned_at', [nowUtc()]);
  });
}

/** A demo that is in the bin comes back as it was; otherwise it is brought in. */
export async function addDemo(context: Context): Promise<void> {
  const { db } = context.collection;
  if (demoPresent(db)) return;
  const binned = db.all('SELECT id FROM stylus WHERE demo = 1');
  if (binned.length > 0)
    db.transaction(() => {
      for (const row of binned) updateRow(db, 'stylus', String(row['id']), 'binned_at', [null]);
    });
  else await outsideGestures(() => bringIn(context));
  void outsideGestures(() => measurePending(context));
}

async function readDemo(folder: string): Promise<Demo> {
  return demoSchema.parse(JSON.parse(await readFile(join(folder, 'demo.json'), 'utf8')));
}

type Original = NewCapture['original'];

async function takeIn(context: Context, file: string): Promise<Original> {
  const { originals } = context.collection;
  const staged = await originals.stage(new Uint8Array(await readFile(file)));
  const source = { path: originals.stagedPath(staged.token), sha256: staged.sha256 };
  const seen = await context.pictures.run(
    'inspect',
    { source, fileName: '' },
    { timeLimitMs: LOOK_LIMIT_MS },
  );
  if (!seen.ok) throw new Refusal(seen.reason.code, `Demo picture: ${seen.reason.message}`);
  const { mediaType, widthPx, heightPx } = seen.value;
  await originals.adopt(staged, mediaType);
  await originals.withdraw(staged.token);
  return { sha256: staged.sha256, byteLength: staged.byteLength, mediaType, widthPx, heightPx };
}

async function bringIn(context: Context): Promise<void> {
  if (context.demoFolder === null)
    throw new Refusal('no-demo', 'This build holds no demo collection. Build the program again.');
  const { db } = context.collection;
  const demo = await readDemo(context.demoFolder);
  const pictures = new Map<string, Original>();
  for (const { file } of demo.styluses.flatMap((stylus) => stylus.captures))
    pictures.set(file, await takeIn(context, join(context.demoFolder, file)));
  db.transaction(() => {
    const pending = demo.styluses.flatMap((stylus) => addStylus(db, stylus, pictures));
    setSetting(db, PENDING, JSON.stringify(pending));
    setSetting(db, OFFERED, nowUtc());
  });
}

function addStylus(db: Database, part: Demo['styluses'][number], pictures: Map<string, Original>): Pending {
  const stylus = createStylus(db, part.draft, true);
  const ids = new Map<string, string>();
  for (const { key, file, ...facts } of part.captures) {
    const capture = addCapture(db, { ...facts, stylusId: stylus.id, original: pictures.get(file)! });
    ids.set(key, capture.id);
  }
  for (const entry of part.entries) addEntry(db, { ...entry, stylusId: stylus.id });
  if (part.retired) retireStylus(db, stylus.id, { ...part.retired, successorId: null });
  const id = (key: string): string => ids.get(key)!;
  return [
    ...part.compare.map(([baseline, later]) => ({
      what: 'compare' as const,
      baselineId: id(baseline),
      laterId: id(later),
    })),
    ...part.examine.map((key) => ({ what: 'examination' as const, id: id(key) })),
    ...part.cantilever.map((key) => ({ what: 'cantilever' as const, id: id(key) })),
  ];
}

const readPending = (db: Database): Pending => {
  const parsed = pendingSchema.safeParse(JSON.parse(setting(db, PENDING) ?? '[]'));
  return parsed.success ? parsed.data : [];
};

async function measureOne(context: Context, task: Pending[number]): Promise<void> {
  const jobId = `demo-${newId()}`;
  await context.jobs.run(jobId, context.timeLimitMs, async (options) =>
    task.what === 'compare'
      ? compareCaptures(context, task.baselineId, task.laterId, options)
      : measureCapture(context, task.id, task.what, options),
  );
}

/** A measuring thread takes half of a small machine; a window that opens meanwhile needs all of it. */
const CALM_MS = 1000;
const CALM_WITHIN_MS = 5000;

/**
 * Measures what the demo still wants measured, one after the other, once the window stands; goes on where the last run
 * stopped.
 */
export async function measurePending(context: Context): Promise<void> {
  const { db } = context.collection;
  try {
    if (readPending(db).length === 0) return;
    await context.jobs.run('demo-calm', context.timeLimitMs, ({ signal }) =>
      context.calm.until(CALM_MS, CALM_WITHIN_MS, signal),
    );
    for (let rest = readPending(db); rest[0] !== undefined; rest = readPending(db)) {
      await measureOne(context, rest[0]).catch((error: unknown) => {
        // What this engine cannot answer is left unanswered; a cancelled one is tried again at the next start.
        if (!(error instanceof Refusal) || error.code === 'cancelled') throw error;
      });
      setSetting(db, PENDING, JSON.stringify(rest.slice(1)));
    }
  } catch {
    // Cancelled or closing; the list stays for the next start.
  }
}

/** On the first run of an empty collection. */
export async function offerDemo(context: Context): Promise<void> {
  const { db } = context.collection;
  const fresh = setting(db, OFFERED) === null && db.get('SELECT 1 FROM stylus LIMIT 1') === undefined;
  if (fresh && context.demoFolder !== null) {
    await bringIn(context);
    context.emit('changed', { stylusId: null });
  }
}
