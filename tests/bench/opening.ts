import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { withFolder, type CollectionSize, type Opened } from './collection.ts';
import { median, runChild } from './measure.ts';
import type { PairFile } from './pictures.ts';
import { row, section, type Row, type Section } from './table.ts';
import {
  clickUntil,
  memoryOf,
  openWindow,
  pageThreadMs,
  seenAt,
  startAsAPerson,
  whyNoBrowser,
  whyNoOwnWindow,
  type Memory,
} from './window.ts';

/** The timeline draws only what is in sight and a little around it. */
const TIMELINE_ROW = '.timeline-row';
const ROWS = 5;
const MEMORY_BAR_MB = 600;

/** From the command to the demo's cards on the screen; the first time brings the demo in, later ones do not. */
export async function start(runs: number): Promise<Section> {
  const why = whyNoOwnWindow();
  if (why !== null) return section([], [`the start of the program: ${why}`]);
  return withFolder(async (folder) => {
    const total: number[] = [];
    const server: number[] = [];
    const data = join(folder, 'data');
    mkdirSync(data);
    for (let i = 0; i <= runs; i++) {
      const { cardsMs, addressMs } = await startAsAPerson(join(folder, 'collection'), data, 2);
      total.push(cardsMs);
      server.push(addressMs);
    }
    const [first, ...later] = total;
    // The test tool's own starting of a browser, with a new folder for each, was counted before and is nobody's wait.
    const note = 'in the browser that the program itself starts, which is included';
    return section([
      row('first start, demo brought in, to its cards', first / 1000, 's', { note }),
      row('start to the cards of the demo', median(later) / 1000, 's', { runs, atMost: 2.5, note }),
      row('collection open', median(server.slice(1)) / 1000, 's', { runs, note: 'while the browser starts' }),
    ]);
  });
}

async function inWindow(folder: string, size: CollectionSize, named: string): Promise<Row[]> {
  const runs = 3;
  const cards: number[] = [];
  const pages: number[] = [];
  const [cardsCpu, pagesCpu]: [number[], number[]] = [[], []];
  const memories: Memory[] = [];
  for (let i = 0; i < runs; i++) {
    const window = await openWindow(folder, ['cards', '.card', size.styluses]);
    cards.push(await seenAt(window.page, 'cards'));
    cardsCpu.push(await pageThreadMs(window));
    pages.push(await clickUntil(window.page, '.card a', [TIMELINE_ROW, ROWS]));
    pagesCpu.push((await pageThreadMs(window)) - cardsCpu.at(-1)!);
    memories.push(await memoryOf(window));
    await window.close();
  }
  const most = (of: (memory: Memory) => number): number => Math.max(...memories.map(of));
  const wide = size.styluses > 1;
  return [
    row(`${named}: page opened to all cards shown`, median(cards) / 1000, 's', {
      runs,
      ...(wide ? { atMost: 1 } : {}),
    }),
    row(`${named}: click to the stylus's timeline shown`, median(pages) / 1000, 's', {
      runs,
      ...(wide ? { atMost: 0.3 } : {}),
    }),
    row(`${named}: cards, processor time of the page's thread`, median(cardsCpu) / 1000, 's', { runs }),
    row(`${named}: timeline, processor time of the page's thread`, median(pagesCpu) / 1000, 's', { runs }),
    row(
      `${named}: program's process, largest memory`,
      most(({ serverPeakMb }) => serverPeakMb),
      'MB',
    ),
    row(
      `${named}: page's process`,
      most(({ pageMb }) => pageMb),
      'MB',
    ),
    row(
      `${named}: page's own heap`,
      most(({ pageHeapMb }) => pageHeapMb),
      'MB',
    ),
    row(
      `${named}: both processes`,
      most(({ serverPeakMb, pageMb }) => serverPeakMb + pageMb),
      'MB',
      {
        atMost: MEMORY_BAR_MB,
      },
    ),
  ];
}

const hostRows = (named: string, { openMs, firstListMs, listMs, pageMs, pageBytes }: Opened): Row[] => [
  row(`${named}: opening the collection`, openMs / 1000, 's', { note: 'machine side only' }),
  row(`${named}: first list`, firstListMs / 1000, 's', { note: 'machine side only' }),
  row(`${named}: list`, listMs / 1000, 's', { runs: 5, note: 'machine side only' }),
  row(`${named}: one stylus`, pageMs / 1000, 's', { runs: 5, note: 'machine side only' }),
  row(`${named}: message for one stylus`, pageBytes / 1e6, 'MB'),
];

/** 10,000 captures and 20,000 entries, spread over forty styluses, or all on one. */
export async function opening(size: CollectionSize, pictures: string, pair: PairFile): Promise<Section> {
  const named = size.styluses > 1 ? `${size.styluses} styluses` : 'all on one';
  const why = whyNoBrowser();
  return withFolder(async (folder) => {
    await runChild('make-collection', { folder, size, pictures, pair });
    const rows = hostRows(named, (await runChild('open-collection', { folder })).value as Opened);
    if (why === null) rows.push(...(await inWindow(folder, size, named)));
    return section(rows, why === null ? [] : [`${named}, in a window: ${why}`]);
  });
}
