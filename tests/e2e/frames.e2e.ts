import type { CDPSession, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { button, link } from './parts.ts';
import { LARGE_PX, largePair } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { addPictures, newStylus, workedPair } from './set-ups.ts';
import { endAtFirstFailure } from './story.ts';
import { framesOf, traced, workOf, type Frames } from './trace.ts';

/**
 * How long the page's own thread works for a frame with two 12 megapixel pictures on the stage, drawn without a graphics
 * card. Counted in processor time of that thread. The limits are those of the machine they were set on: a piece of work
 * that is none of the program's (see `paceOf`) took REFERENCE_MS there. Where it takes longer, up to three times, the
 * limits are as much longer; where it takes less, they stay.
 */
const NAME = 'Large pictures';
const MOST_SCRIPT_MS = 8;
const LONG_TASK_MS = 50;
const REFERENCE_MS = 55;
const SLOWEST = 3;

/** Looking at the tip again, at rest: a frame of a stage that shows nothing costs nothing. */
async function atTip(page: Page): Promise<void> {
  await page.locator('.stage-focus').press('0');
  await page.waitForTimeout(300);
}

async function stageMiddle(page: Page): Promise<{ readonly x: number; readonly y: number }> {
  const box = await page.locator('.stage-canvas').boundingBox();
  if (box === null) throw new Error('stageMiddle: the stage is not there');
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

async function pan(page: Page): Promise<void> {
  await atTip(page);
  const { x, y } = await stageMiddle(page);
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let i = 0; i < 80; i++) {
    await page.mouse.move(x + 120 * Math.sin(i / 10), y + 80 * Math.cos(i / 7));
    await page.waitForTimeout(12);
  }
  await page.mouse.up();
}

async function zoom(page: Page): Promise<void> {
  await atTip(page);
  const { x, y } = await stageMiddle(page);
  await page.mouse.move(x + 30, y);
  for (let i = 0; i < 80; i++) {
    await page.mouse.wheel(0, 12 * Math.sin(i / 12));
    await page.waitForTimeout(12);
  }
}

const ACTS = { pans: pan, zooms: zoom };

/** What stands on the stage, as one number for each of its pixels' bytes. */
function onStage(page: Page): Promise<{ readonly sum: number; readonly hash: number }> {
  return page.locator('.stage-canvas').evaluate((element) => {
    const canvas = element as HTMLCanvasElement;
    const { data } = canvas.getContext('2d')!.getImageData(0, 0, canvas.width, canvas.height);
    let [sum, hash] = [0, 2_166_136_261];
    for (const byte of data) {
      sum += byte;
      hash = Math.imul(hash ^ byte, 16_777_619);
    }
    return { sum, hash };
  });
}

/** What stands there when nothing is drawn any more: the same for more than half a second, twice the wait for smoothing. */
async function atRest(page: Page): ReturnType<typeof onStage> {
  let [last, same] = [await onStage(page), 0];
  for (let i = 0; same < 3; i++) {
    if (i > 100) throw new Error('atRest: the stage does not come to rest');
    await page.waitForTimeout(250);
    const now = await onStage(page);
    same = now.hash === last.hash ? same + 1 : 0;
    last = now;
  }
  return last;
}

/** From the click to the numbers and to something bright on the stage, milliseconds. */
function openingTime(page: Page): Promise<{ numbers: number; picture: number }> {
  return page.evaluate(
    () =>
      new Promise<{ numbers: number; picture: number }>((resolve) => {
        const begun = performance.now();
        let [numbers, picture] = [Infinity, Infinity];
        const probe = new OffscreenCanvas(8, 8).getContext('2d', { willReadFrequently: true })!;
        const look = (): void => {
          const now = performance.now() - begun;
          if (document.querySelector('.big-value') !== null) numbers = Math.min(numbers, now);
          const canvas = document.querySelector<HTMLCanvasElement>('.stage-canvas');
          if (canvas !== null) {
            probe.drawImage(canvas, 0, 0, 8, 8);
            const light = probe.getImageData(0, 0, 8, 8).data.reduce((sum, value) => sum + value, 0);
            // 64 opaque black pixels come to 16,320.
            if (light > 18_000) picture = Math.min(picture, now);
          }
          if (Number.isFinite(numbers + picture) || now > 20_000) resolve({ numbers, picture });
          else requestAnimationFrame(look);
        };
        document.querySelector<HTMLAnchorElement>('.timeline-comparison a')?.click();
        requestAnimationFrame(look);
      }),
  );
}

/** Lays one picture of noise over another, some times, as a canvas does it without a graphics card. */
function blend(page: Page): Promise<void> {
  return page.evaluate(
    () =>
      new Promise<void>((resolve) => {
        const [width, height] = [1000, 700];
        const noise = (seed: number): OffscreenCanvas => {
          const canvas = new OffscreenCanvas(width, height);
          const context = canvas.getContext('2d', { willReadFrequently: true })!;
          const data = context.createImageData(width, height);
          let state = seed;
          for (let i = 0; i < data.data.length; i++) {
            state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
            data.data[i] = state >>> 24;
          }
          context.putImageData(data, 0, 0);
          return canvas;
        };
        const [one, other] = [noise(1), noise(2)];
        const onto = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true })!;
        onto.imageSmoothingQuality = 'low';
        // In a task of its own, which the trace can tell from the rest.
        setTimeout(() => {
          for (let i = 0; i < 8; i++) {
            onto.globalCompositeOperation = 'source-over';
            onto.setTransform(1.01, 0.02, -0.02, 1.01, i, -i);
            onto.drawImage(one, 0, 0);
            onto.globalCompositeOperation = 'difference';
            onto.drawImage(other, 0, 0);
            onto.getImageData(0, 0, 1, 1);
          }
          resolve();
        });
      }),
  );
}

/** How much longer the machine takes just now than the one of the limits, 1 to SLOWEST; the calmest of a few tries. */
async function paceOf(session: CDPSession, page: Page): Promise<number> {
  const times: number[] = [];
  for (let i = 0; i < 3; i++) times.push(workOf(await traced(session, () => blend(page))).longestTask);
  return Math.min(SLOWEST, Math.max(1, Math.min(...times) / REFERENCE_MS));
}

type Judged = Frames & { readonly mostScript: number; readonly mostTask: number };

function expectLight({ p95, longestTask, mostScript, mostTask }: Judged): void {
  console.log(`95 of 100 frames within ${p95.toFixed(1)} ms, at most ${mostScript.toFixed(1)} here`);
  expect(p95).toBeLessThan(mostScript);
  expect(longestTask).toBeLessThan(mostTask);
}

const TRIES = 8;

/**
 * The same act again, a few times at most, until a try stays below the limit: what else runs on the machine (shared
 * caches, the other half of a core) lengthens processor time, too, and never shortens it.
 */
async function calmest(session: CDPSession, page: Page, act: () => Promise<void>): Promise<Judged> {
  let best: Judged | null = null;
  for (let i = 0; i < TRIES; i++) {
    const pace = await paceOf(session, page);
    const seen = framesOf(await traced(session, act));
    const judged = { ...seen, mostScript: MOST_SCRIPT_MS * pace, mostTask: LONG_TASK_MS * pace };
    if (seen.p95 < judged.mostScript && seen.longestTask < judged.mostTask) return judged;
    if (best === null || seen.p95 < best.p95) best = judged;
  }
  return best as Judged;
}

describe('the bench with two pictures of 12 megapixels', () => {
  endAtFirstFailure(['measures them', 'opens again with its stored results in a moment']);
  let program: Program;
  let pair: Awaited<ReturnType<typeof largePair>>;
  let session: CDPSession;
  beforeAll(async () => {
    [program, pair] = await Promise.all([openProgram('browser window'), largePair(71)]);
    session = await program.page.context().newCDPSession(program.page);
  });
  afterAll(async () => {
    await program?.close();
  });

  it('measures them', async () => {
    const { page } = program;
    const [baseline, later] = workedPair(pair).map(([file, known], index) => {
      const across = pair.widthPx[index] / LARGE_PX;
      return [file, { ...known, umPerPx: known.umPerPx! * across }] as const;
    });
    await newStylus(page, NAME);
    await addPictures(page, [baseline, later]);
    await page.locator('.strip-item').nth(1).getByRole('button', { name: 'Compare' }).click();
    await page.locator('.big-value').first().waitFor({ timeout: 180_000 });
    expect(await page.locator('.big-value').count()).toBe(2);
  }, 300_000);

  it('opens again with its stored results in a moment', async () => {
    const { page } = program;
    const times = [];
    for (let i = 0; i < 3; i++) {
      await link(page, NAME).first().click();
      await page.locator('.timeline-comparison a').first().waitFor();
      await page.waitForTimeout(800);
      times.push(await openingTime(page));
    }
    const best = Math.min(...times.map(({ numbers, picture }) => Math.max(numbers, picture)));
    console.log(`the bench opened in ${best.toFixed(0)} ms, the best of ${times.length}`);
    // On a free machine well below 300 ms; a busy one gets ten times as much before this is a fault of the program.
    expect(best).toBeLessThan(3000);
  });

  it.each([
    ['pans', '1', 'laid over'],
    ['pans', '2', 'taking turns'],
    ['pans', '3', 'split'],
    ['pans', '4', 'side by side'],
    ['pans', '5', 'outlines'],
    ['pans', '6', 'difference'],
    ['zooms', '1', 'laid over'],
    ['zooms', '6', 'difference'],
  ] as const)('%s in way %s, %s, with little script and no long task', async (act, key, _name) => {
    const { page } = program;
    await page.locator('.stage-focus').press(key);
    // The large pictures are made ready beside the page after a moment.
    await page.waitForTimeout(1500);
    const seen = await calmest(session, page, () => ACTS[act](page));
    expect(seen.count).toBeGreaterThan(10);
    expectLight(seen);
  });

  it.each([
    ['1', 'laid over'],
    ['6', 'difference'],
  ])('shows after a pan in way %s, %s, what a fresh drawing would be, to the bit', async (key) => {
    const { page } = program;
    const stage = page.locator('.stage-focus');
    await stage.press(key);
    await pan(page);
    // The pointer picks an angle near the tip, which draws a line.
    await page.mouse.move(2, 2);
    const moved = await atRest(page);
    await stage.press('[');
    await expect.poll(async () => (await onStage(page)).hash).not.toBe(moved.hash);
    await atRest(page);
    await stage.press(']');
    await expect.poll(() => onStage(page)).toEqual(moved);
  });

  it('takes turns three times a second with as little', async () => {
    const { page } = program;
    await page.locator('.stage-focus').press('2');
    await page.getByLabel('Turns a second').fill('3');
    await atTip(page);
    // A dozen frames have no 95th percentile: this is the worst of them, words and picture together.
    const seen = await calmest(session, page, () => page.waitForTimeout(4000));
    expect(seen.count).toBeGreaterThan(1);
    expectLight(seen);
  });

  it('pushes the later picture by hand with as little', async () => {
    const { page } = program;
    await button(page, 'Lay over by hand').click();
    await page.locator('.stage-focus').press('1');
    const seen = await calmest(session, page, () => pan(page));
    expect(seen.count).toBeGreaterThan(10);
    expectLight(seen);
    await button(page, 'Back to how it was').click();
    expect(program.troubles).toEqual([]);
  });
});
