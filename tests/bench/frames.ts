import { withFolder } from './collection.ts';
import { median, quantile } from './measure.ts';
import { row, section, type Row, type Section } from './table.ts';
import { openWindow, seenAt, whyNoBrowser, type Window } from './window.ts';

/** Events of a browser's trace that are used here. */
type TraceEvent = { readonly name: string; readonly ts: number; readonly dur?: number };

const WAYS = ['laid over', 'taking turns', 'split', 'side by side', 'outlines', 'difference'] as const;
const LONG_MS = 50;

async function traced(window: Window, work: () => Promise<void>): Promise<TraceEvent[]> {
  const events: TraceEvent[] = [];
  window.cdp.on('Tracing.dataCollected', ({ value }) => events.push(...(value as unknown as TraceEvent[])));
  const complete = new Promise<void>((done) => window.cdp.once('Tracing.tracingComplete', () => done()));
  await window.cdp.send('Tracing.start', {
    transferMode: 'ReportEvents',
    traceConfig: {
      includedCategories: [
        'devtools.timeline',
        'disabled-by-default-devtools.timeline',
        'disabled-by-default-devtools.timeline.frame',
      ],
    },
  });
  await work();
  await window.cdp.send('Tracing.end');
  await complete;
  return events;
}

/** Drags the picture about and zooms in and out, as a hand does; about two seconds. */
async function play(window: Window): Promise<void> {
  const { page } = window;
  const stage = await page.getByRole('group', { name: /^Stage/ }).boundingBox();
  if (stage === null) throw new Error('bench: the stage has no size');
  const [x, y] = [stage.x + stage.width / 2, stage.y + stage.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let i = 0; i < 60; i++) await page.mouse.move(x + 80 * Math.sin(i / 8), y + 60 * Math.cos(i / 8));
  await page.mouse.up();
  for (let i = 0; i < 20; i++) await page.mouse.wheel(0, i < 10 ? -120 : 120);
}

function rowsOf(way: string, events: readonly TraceEvent[]): Row[] {
  const drawn = events.filter(({ name }) => name === 'DrawFrame').map(({ ts }) => ts / 1000);
  const gaps = drawn.toSorted((a, b) => a - b).flatMap((at, i, all) => (i === 0 ? [] : [at - all[i - 1]]));
  const tasks = events.filter(({ name }) => name === 'RunTask').map(({ dur }) => (dur ?? 0) / 1000);
  const runs = gaps.length;
  if (runs === 0 || tasks.length === 0) return [];
  return [
    row(`${way}: between two frames`, median(gaps), 'ms', { runs }),
    row(`${way}: between two frames, 95th of 100`, quantile(gaps, 0.95), 'ms', { runs }),
    row(`${way}: longest task of any thread`, Math.max(0, ...tasks), 'ms', {
      atMost: LONG_MS,
      runs: tasks.length,
    }),
  ];
}

/** Frame times of the stage from the browser's own trace, on the demo's newest comparison. Software drawing. */
export async function frames(): Promise<Section> {
  const why = whyNoBrowser();
  if (why !== null) return section([], [`frame times: ${why}`]);
  return withFolder(async (folder) => {
    const window = await openWindow(folder, ['cards', '.card', 2]);
    try {
      const { page } = window;
      await seenAt(page, 'cards');
      await page.locator('.card a').first().click();
      // The demo measures itself in the background after its first start.
      await page.getByRole('link', { name: 'Compared: open' }).last().click();
      const stage = page.getByRole('group', { name: /^Stage/ });
      await stage.waitFor();
      await page.locator('.big-value').first().waitFor();
      const rows: Row[] = [];
      for (const [i, way] of WAYS.entries()) {
        await stage.press(String(i + 1));
        await page.waitForTimeout(400);
        rows.push(...rowsOf(way, await traced(window, () => play(window))));
      }
      return section(rows, rows.length === 0 ? ['frame times: the trace held no frames'] : []);
    } finally {
      await window.close();
    }
  });
}
