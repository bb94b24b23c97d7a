import { createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { openHost } from '../../electron/host/host.ts';
import { createEngine } from '../../electron/host/engine.ts';
import { runCompare, runExamine } from '../../electron/host/measure.ts';
import { openCollection } from '../../electron/host/store/collection.ts';
import { addCapture, storeResult } from '../../electron/host/store/captures.ts';
import { addComparison } from '../../electron/host/store/comparisons.ts';
import { addEntry } from '../../electron/host/store/entries.ts';
import { createStylus } from '../../electron/host/store/styluses.ts';
import {
  encodeMessage,
  type ComparisonReport,
  type ExaminationReport,
  type FlatPair,
  type FlatSingle,
  type Measured,
  type StylusDraft,
} from '../../shared/index.ts';
import type { PairFile } from './pictures.ts';
import { median, peakMemoryMb, root } from './measure.ts';

/**
 * A collection as it might be after many years: every capture with a file of its own in originals/, every second later
 * one compared with the baseline and the others examined. Every report is a real one of this engine in all but the
 * widths, which grow as they would on a stylus of its own: from forty like ones a single wear law would follow, and be
 * remembered.
 */
export type CollectionSize = {
  readonly styluses: number;
  readonly captures: number;
  readonly entries: number;
};
export const WIDE: CollectionSize = { styluses: 40, captures: 10_000, entries: 20_000 };
/** The worst case of the same size: everything on one stylus. */
export const DEEP: CollectionSize = { ...WIDE, styluses: 1 };

const workerFile = join(root, 'dist', 'host', 'engine-worker.js');

const draft = (number: number): StylusDraft => ({
  name: `Stylus ${number}`,
  cartridge: 'as found (invented)',
  profile: 'elliptical',
  deck: '',
  radiusUm: 18,
  sideRadiusUm: 8,
  ratedHours: 800,
  startDate: '2015-01-01',
  startHours: 0,
  price: null,
  currency: '',
  limitUm: 12,
  notes: '',
});

/** Day n of `count` days spread over ten years. */
function dayOf(n: number, count: number): string {
  const days = Math.floor((n / count) * 3650);
  return new Date(Date.UTC(2015, 0, 2 + days)).toISOString().slice(0, 10);
}

/** A comment segment right after the start makes one small JPEG into ten thousand different files. */
function numbered(jpeg: Uint8Array, number: number): Uint8Array {
  const text = Buffer.from(`picture ${number}`);
  const head = Buffer.from([0xff, 0xd8, 0xff, 0xfe, 0, text.length + 2]);
  return Buffer.concat([head, text, jpeg.subarray(2)]);
}

type Reports = { readonly compared: ComparisonReport; readonly examined: ExaminationReport };

/** A number from 0 to 1, always the same one for the same place. */
const scattered = (stylus: number, n: number): number => ((stylus * 7919 + n * 104_729) % 1000) / 1000;

/** How a width stands to that of the report: the 3.5th power grows evenly, some styluses wear faster, looks scatter. */
function growth(stylus: number, n: number, count: number): number {
  const pace = 0.7 + 0.6 * scattered(stylus, 1);
  return pace * ((n + 1) / count) ** (1 / 3.5) * (0.97 + 0.06 * scattered(stylus, n));
}

function times({ value, expanded, low, high }: Measured, factor: number): Measured {
  const ends = low === undefined || high === undefined ? {} : { low: low * factor, high: high * factor };
  return { value: value * factor, expanded: expanded * factor, ...ends };
}

function comparedAt(report: ComparisonReport, factor: number): ComparisonReport {
  if (!report.ok) return report;
  const side = (flat: FlatPair): FlatPair => ({ ...flat, laterUm: times(flat.laterUm, factor) });
  return { ...report, flats: { left: side(report.flats.left), right: side(report.flats.right) } };
}

function examinedAt(report: ExaminationReport, factor: number): ExaminationReport {
  if (!report.ok || report.flats === undefined) return report;
  const side = (flat: FlatSingle): FlatSingle => ({ ...flat, widthUm: times(flat.widthUm, factor) });
  return { ...report, flats: { left: side(report.flats.left), right: side(report.flats.right) } };
}

async function realReports(folder: string, pair: PairFile): Promise<Reports> {
  const engine = createEngine({ workerFile, threads: 1 });
  const limit = { timeLimitMs: 120_000 };
  const baseline = { path: join(folder, pair.baseline) };
  const baselineScale = { umPerPx: pair.baselineScaleUmPerPx, standardUmPerPx: null };
  const laterScale = { umPerPx: pair.laterScaleUmPerPx, standardUmPerPx: null };
  const later = { path: join(folder, pair.later) };
  const job = { view: pair.view, baseline, later, baselineScale, laterScale };
  const compared = await runCompare(engine, job, limit);
  const examined = await runExamine(engine, { view: 'front', picture: later, scale: laterScale }, limit);
  await engine.close();
  if (!compared.ok || !examined.ok) throw new Error('bench: the pair for the collection was refused');
  return { compared, examined };
}

export async function makeCollection(
  folder: string,
  size: CollectionSize,
  pictures: string,
  pair: PairFile,
): Promise<void> {
  const reports = await realReports(pictures, pair);
  const small = await sharp(join(pictures, pair.later)).resize(320, 240).jpeg().toBuffer();
  const collection = await openCollection({ folder, who: 'the bench' });
  const { db } = collection;
  const originals = join(folder, 'originals');
  mkdirSync(originals, { recursive: true });
  const scale = { umPerPx: 1, standardUmPerPx: null, source: 'typed' as const };
  let picture = 0;
  const captureOn = (stylusId: string, n: number, count: number): string => {
    const bytes = numbered(small, picture++);
    const sha256 = createHash('sha256').update(bytes).digest('hex');
    writeFileSync(join(originals, `${sha256}.jpg`), bytes);
    return addCapture(db, {
      stylusId,
      fileName: `picture-${picture}.jpg`,
      original: { sha256, mediaType: 'image/jpeg', byteLength: bytes.length, widthPx: 320, heightPx: 240 },
      view: 'front',
      light: 'backlit',
      mirrored: false,
      taken: { wall: dayOf(n, count), offset: null, source: 'person' },
      scale,
      microscope: 'Hand-held one',
      isBaseline: n === 0,
      notes: n % 10 === 0 ? 'Cleaned before, lamp as always.' : '',
    }).id;
  };
  db.transaction(() => {
    for (let s = 0; s < size.styluses; s++) {
      const { id } = createStylus(db, draft(s + 1));
      const captures = size.captures / size.styluses;
      const entries = size.entries / size.styluses;
      let baselineId = '';
      for (let n = 0; n < captures; n++) {
        const laterId = captureOn(id, n, captures);
        if (n === 0) baselineId = laterId;
        const factor = growth(s, n, captures);
        if (n % 2 === 0) storeResult(db, laterId, 'examination', examinedAt(reports.examined, factor));
        else
          addComparison(db, {
            stylusId: id,
            baselineId,
            laterId,
            engineVersion: 'bench',
            inputs: { view: 'front', baselineScale: scale, laterScale: scale },
            report: comparedAt(reports.compared, factor),
          });
      }
      const kinds = ['playing', 'playing', 'playing', 'cleaning', 'note'] as const;
      for (let n = 0; n < entries; n++) {
        const kind = kinds[n % kinds.length];
        const hours = { amount: 2, unit: 'sides' as const, minutesPerSide: 20, hours: 2 / 3 };
        const played = kind === 'playing' ? { ...hours, estimated: false } : null;
        addEntry(db, {
          stylusId: id,
          kind,
          date: dayOf(n, entries),
          played,
          text: played ? '' : 'as always',
        });
      }
    }
  });
  collection.close();
}

export type Opened = {
  readonly openMs: number;
  readonly firstListMs: number;
  readonly listMs: number;
  readonly pageMs: number;
  readonly pageBytes: number;
  readonly peakMb: number | null;
};

/** What the machine's side alone needs, the message to the window included. */
export async function openingOf(folder: string): Promise<Opened> {
  const started = performance.now();
  const host = await openHost({
    folder,
    who: 'the bench',
    shell: 'test',
    version: '0.0.0',
    workerFile,
    printPdf: null,
    demoFolder: null,
  });
  const openMs = performance.now() - started;
  const ask = async (
    name: string,
    input: unknown,
  ): Promise<{ ms: number; value: unknown; bytes: number }> => {
    const at = performance.now();
    const reply = await host.call(name, input);
    const bytes = encodeMessage(reply).byteLength;
    if (!reply.ok) throw new Error(`bench: ${name}: ${reply.error.message}`);
    return { ms: performance.now() - at, value: reply.value, bytes };
  };
  const first = await ask('stylus.list', {});
  const cards = first.value as { stylus: { id: string } }[];
  const lists: number[] = [];
  const pages: { ms: number; bytes: number }[] = [];
  for (let i = 0; i < 5; i++) {
    lists.push((await ask('stylus.list', {})).ms);
    pages.push(await ask('stylus.page', { id: cards[i % cards.length].stylus.id }));
  }
  const peakMb = peakMemoryMb();
  await host.close();
  return {
    openMs,
    firstListMs: first.ms,
    listMs: median(lists),
    pageMs: median(pages.map(({ ms }) => ms)),
    pageBytes: pages[0].bytes,
    peakMb,
  };
}

/** In a folder that goes away. */
export async function withFolder<T>(work: (folder: string) => Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'daybook-bench-'));
  try {
    return await work(folder);
  } finally {
    rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
  }
}
