import { mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { notRun } from '../not-run.ts';
import { button, dialog } from './parts.ts';
import { openProgram, type Program } from './program.ts';
import { endAtFirstFailure } from './story.ts';
import { traced, workOf } from './trace.ts';

/**
 * Many large pictures at once: the window stays alive, progress is shown, cancelling leaves nothing, memory is bounded.
 * DAYBOOK_LONG=1 takes 200 pictures of 5 megapixels (some minutes); without it 16 of them.
 */
const LONG = process.env['DAYBOOK_LONG'] === '1';
const COUNT = LONG ? 200 : 16;
const [WIDTH, HEIGHT] = [2592, 1944];
const MOST_MB = 1200;
/**
 * Longest stretch in which the page's own thread is at work, processor time: while files are read, and when all rows
 * change at once. The aim is 50 ms; it is 17 to 31 ms for up to 120 pictures, and was 64 ms once in the five minutes
 * that 200 of 5 megapixels take beside other work.
 */
const READING_TASK_MS = 100;
const ALL_ROWS_TASK_MS = 200;
if (!LONG)
  notRun('The import of 200 pictures of 5 MP', 'it takes minutes; 16 were taken instead (DAYBOOK_LONG=1)');

/** One noisy picture, made different by a comment in its head. */
async function makeFolder(): Promise<string> {
  const folder = mkdtempSync(join(tmpdir(), 'daybook-many-'));
  const noise = { type: 'gaussian' as const, mean: 180, sigma: 8 };
  const tip = Buffer.from(
    `<svg xmlns="http://www.w3.org/2000/svg" width="${WIDTH}" height="${HEIGHT}"><path d="M1000 0h500v1000l-200 420q-50 60-100 0l-200-420z" fill="#222"/></svg>`,
  );
  const base = await sharp({
    create: { width: WIDTH, height: HEIGHT, channels: 3, background: '#999', noise },
  })
    .composite([{ input: tip }])
    .jpeg({ quality: 95 })
    .toBuffer();
  for (let i = 0; i < COUNT; i++) {
    const text = Buffer.from(`picture ${i}`);
    const comment = Buffer.concat([Buffer.from([0xff, 0xfe, 0, text.length + 2]), text]);
    const day = `2024-01-${String((i % 28) + 1).padStart(2, '0')}`;
    writeFileSync(
      join(folder, `${day} front backlit ${i}.jpg`),
      Buffer.concat([base.subarray(0, 2), comment, base.subarray(2)]),
    );
  }
  return folder;
}

/** Highest resident memory of a process so far, MB; null where the system does not tell. */
function peakMb(pid: number | null): number | null {
  if (pid === null || process.platform !== 'linux') return null;
  const line = /^VmHWM:\s+(\d+) kB$/m.exec(readFileSync(`/proc/${pid}/status`, 'utf8'));
  return line === null ? null : Number(line[1]) / 1024;
}

describe(`${COUNT} pictures of 5 MP, in a browser window`, () => {
  endAtFirstFailure();
  let program: Program;
  let folder: string;
  beforeAll(async () => {
    [program, folder] = await Promise.all([openProgram('browser window'), makeFolder()]);
  });
  afterAll(async () => {
    await program?.close();
    if (folder) rmSync(folder, { recursive: true, force: true });
  });
  const waiting = (): number => readdirSync(join(program.collection, 'incoming')).length;

  it(
    'are read one by one while the window goes on, with progress, within the memory that is allowed',
    async () => {
      const { page } = program;
      await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
      await page.keyboard.press('Alt+n');
      await dialog(page, 'New stylus').getByLabel('Name').fill('Many');
      await page.keyboard.press('Enter');
      await page.getByRole('heading', { level: 1, name: 'Many' }).waitFor();
      await page.keyboard.press('Alt+i');
      const form = dialog(page, 'Add pictures');
      // Every stretch in which the page could not answer, while it reads.
      await page.evaluate(() => {
        const gaps: number[] = [];
        Object.assign(globalThis, { gaps });
        let last = performance.now();
        const tick = (): void => {
          const now = performance.now();
          gaps.push(now - last);
          last = now;
          setTimeout(tick, 10);
        };
        tick();
      });
      const session = await page.context().newCDPSession(page);
      const seen: number[] = [];
      const events = await traced(session, async () => {
        await form.getByLabel('Folder of pictures').setInputFiles(folder);
        // By style, not by role: asking for roles walks through every cell of the table, in the page's own thread.
        const progress = page.locator('.dialog-foot progress');
        await progress.waitFor();
        while (await progress.isVisible()) {
          seen.push(Number((await progress.getAttribute('value').catch(() => null)) ?? Number.NaN));
          await page.waitForTimeout(250);
        }
      });
      const { longestTask } = workOf(events);
      await expect.poll(() => form.locator('.intake-ready').count()).toBe(COUNT);
      const steps = seen.filter(Number.isFinite);
      expect(Math.max(...steps) - Math.min(...steps)).toBeGreaterThan(COUNT / 3);
      const gaps = await page.evaluate<number[]>('gaps');
      const sorted = gaps.toSorted((a, b) => a - b);
      const host = peakMb(program.hostPid);
      console.table([
        {
          pictures: COUNT,
          medianMs: sorted[Math.floor(sorted.length / 2)].toFixed(0),
          p99Ms: sorted[Math.floor(sorted.length * 0.99)].toFixed(0),
          worstMs: sorted.at(-1)!.toFixed(0),
          longestTaskMs: longestTask.toFixed(0),
          hostPeakMb: host === null ? 'not told' : host.toFixed(0),
        },
      ]);
      // A second is when somebody loses the thread; a machine that is busy with other things is several times slower.
      expect(sorted[Math.floor(sorted.length * 0.99)]).toBeLessThan(1000);
      expect(longestTask).toBeLessThan(READING_TASK_MS);
      expect(host ?? 0).toBeLessThan(MOST_MB);
    },
    LONG ? 1_200_000 : 180_000,
  );

  it('answers at once when every row changes', async () => {
    const { page } = program;
    const session = await page.context().newCDPSession(page);
    const box = page.locator('.many-all input');
    const tries: number[] = [];
    for (let i = 0; i < 6; i++) {
      const events = await traced(session, async () => {
        await box.evaluate((input: HTMLInputElement) => input.click());
        await page.waitForTimeout(500);
      });
      tries.push(workOf(events).longestTask);
    }
    console.log(
      `all rows ticked and unticked, longest tasks: ${tries.map((ms) => ms.toFixed(0)).join(', ')} ms`,
    );
    expect(Math.min(...tries)).toBeLessThan(ALL_ROWS_TASK_MS);
  }, 120_000);

  it('can be stopped while they are added, with nothing of them in the daybook', async () => {
    const { page } = program;
    const form = dialog(page, 'Add pictures');
    await button(form, /guess(es are| is) right$/).click();
    await button(form, `Add ${COUNT} pictures`).click();
    // It may be done before the hand is there; then all of them are in, and go back in one step.
    const stop = page.locator('.job-inside button');
    // By script, so that the hand is as fast as can be.
    await page
      .waitForFunction(
        () => {
          const found = document.querySelector<HTMLElement>('.job-inside button');
          found?.click();
          return found !== null;
        },
        null,
        { timeout: 5000 },
      )
      .catch(() => undefined);
    await expect.poll(async () => (await stop.count()) === 0, { timeout: 60_000 }).toBe(true);
    const listed = await form
      .locator('.intake-ready')
      .count()
      .catch(() => 0);
    // All of them or none.
    await expect
      .poll(async () => listed + (await page.locator('.strip-item').count()), { timeout: 60_000 })
      .toBe(COUNT);
    expect([0, COUNT]).toContain(listed);
    if (listed === 0)
      notRun(
        'Stopping while pictures are added',
        'they were all in before the hand was there; none was lost',
      );
    if (listed > 0) await button(form, 'Cancel').click();
    await form.waitFor({ state: 'detached' });
    await expect.poll(waiting, { timeout: 60_000 }).toBe(0);
    expect(program.troubles).toEqual([]);
  }, 300_000);
});
