import type { Page } from 'playwright-core';
import { beforeAll, describe, expect, it } from 'vitest';
import { fitPicture, toStage, zoomAbout, type StageView } from '../../renderer/bench/geometry.ts';
import { movedPose, NO_MOVE } from '../../renderer/bench/hand-pose.ts';
import { imageToTip, tipToImage, type Pose } from '../../shared/geometry.ts';
import { button, dialog, expectAccessible, readMeasured, steer, tabTo, times, wallValue } from './parts.ts';
import { crowdedPair } from './pictures.ts';
import { addPictures, newStylus, workedPair } from './set-ups.ts';
import { inOneWindow } from './story.ts';

/**
 * A pair that the program refuses to lay over each other: a hand does it, the fit goes on from there, the answer says so,
 * and undo takes it back. Once by pointer, once by keys and typed values. Where things lie is known from the renderer.
 */
const NAME = 'Fourth stylus';
type Pair = Awaited<ReturnType<typeof crowdedPair>>;
type Spot = { readonly x: number; readonly y: number };

let pair: Pair;
beforeAll(async () => {
  pair = await crowdedPair(21);
});

const side = (which: 'baseline' | 'later') => {
  const { pose, umPerPx } = pair.truth[which];
  const { width, height } = pair.sizes[which === 'baseline' ? 0 : 1];
  const part: Pose = { xPx: pose.tipXPx, yPx: pose.tipYPx, rotationDeg: pose.rotationDeg, umPerPx };
  /** How the bench shows a picture that is not registered: its middle on the stage's origin. */
  const shown: Pose = { xPx: (width - 1) / 2, yPx: (height - 1) / 2, rotationDeg: 0, umPerPx };
  return { part, shown, width, height };
};

/** A point of the part, micrometres, in the stage's frame as a picture with that pose shows it. */
const onStage = (which: 'baseline' | 'later', point: Spot, shown = side(which).shown): Spot =>
  imageToTip(shown, tipToImage(side(which).part, point));

/** By how much the later picture has to be turned and pushed, about the middle of the stage. */
function wanted(): { readonly dx: number; readonly dy: number; readonly turnDeg: number } {
  const [baseline, later] = [side('baseline'), side('later')];
  const turnDeg = ((baseline.part.rotationDeg - later.part.rotationDeg + 540) % 360) - 180;
  const turned = movedPose(later.shown, { ...NO_MOVE, turnDeg }, { x: 0, y: 0 });
  const to = onStage('baseline', { x: 0, y: 0 });
  const from = onStage('later', { x: 0, y: 0 }, turned);
  return { dx: to.x - from.x, dy: to.y - from.y, turnDeg };
}

/** Something at the apex and at each flank, micrometres from the tip's centre. */
const COMMON: readonly Spot[] = [
  { x: 0, y: 15 },
  { x: -28, y: -45 },
  { x: 28, y: -45 },
];

async function stageBox(page: Page) {
  const box = await page.locator('.stage-canvas').boundingBox();
  if (box === null) throw new Error('stageBox: the stage is not there');
  return { x: box.x, y: box.y, width: Math.floor(box.width), height: Math.floor(box.height) };
}

/** The whole baseline, and twice smaller, so that what lies outside its frame is still on the stage. */
async function smallView(page: Page): Promise<StageView> {
  const { shown, width, height } = side('baseline');
  await page.locator('.stage-focus').press('0');
  await times(page, '-', 2);
  const whole = fitPicture(await stageBox(page), shown, { width, height }, 0);
  return zoomAbout(zoomAbout(whole, 0.8, { x: 0, y: 0 }), 0.8, { x: 0, y: 0 });
}

/** Where the points in common stand in the window, by turns in the baseline's pane and the later one's. */
function inPanes(view: StageView, box: Awaited<ReturnType<typeof stageBox>>): Spot[] {
  return COMMON.flatMap((point) =>
    (['baseline', 'later'] as const).map((which, pane) => {
      const at = toStage(view, onStage(which, point));
      return { x: box.x + box.width * (0.25 + 0.5 * pane) + at.x, y: box.y + box.height / 2 + at.y };
    }),
  );
}

async function withTwoPictures(page: Page): Promise<void> {
  await newStylus(page, NAME);
  await addPictures(page, workedPair(pair));
}

const field = (page: Page, name: string) => page.locator('.by-hand').getByLabel(name, { exact: true });

async function expectRefused(page: Page): Promise<void> {
  await page.locator('.bench-panel .refused').waitFor({ timeout: 60_000 });
  expect(await page.locator('.big-value').count()).toBe(0);
  expect(await page.getByText('helped by hand').count()).toBe(0);
}

/** The numbers of the rendered truth, and in words that a hand was in it. */
async function expectMeasuredByHand(page: Page): Promise<void> {
  await page.locator('.big-value').first().waitFor({ timeout: 60_000 });
  for (const wall of ['Left wall', 'Right wall'] as const) {
    const { widthUm } = pair.truth.later.flats[wall === 'Left wall' ? 'left' : 'right'];
    expect(Math.abs(readMeasured(await wallValue(page, wall)).value - widthUm)).toBeLessThan(1);
  }
  await page.getByText('helped by hand').waitFor();
  await page.getByText(/The later picture was laid over the baseline by hand/).waitFor();
}

/** How the later picture lies, read from the typed fields, against how it has to lie. */
async function expectLaid(page: Page, within: { readonly um: number; readonly deg: number }): Promise<void> {
  const { dx, dy, turnDeg } = wanted();
  const typed = async (name: string): Promise<number> =>
    Number((await field(page, name).inputValue()).replace(',', '.'));
  expect(Math.abs((await typed('To the right')) - dx)).toBeLessThan(within.um);
  expect(Math.abs((await typed('Down')) - dy)).toBeLessThan(within.um);
  expect(Math.abs((await typed('Turned anticlockwise')) - turnDeg)).toBeLessThan(within.deg);
}

describe('laying over by hand, by pointer, in a browser window', () => {
  const program = inOneWindow();

  it('is offered where the program refuses the pair', async () => {
    const { page } = program;
    await withTwoPictures(page);
    await page.locator('.strip-item').nth(1).getByRole('button', { name: 'Compare' }).click();
    await expectRefused(page);
    expect(await page.getByText(/lay the\s+later one over the baseline by hand/).count()).toBe(1);
  });

  it('pulls the picture along, turns it, and goes back to how it was without a trace', async () => {
    const { page } = program;
    await button(page, 'Lay over by hand').click();
    const view = await smallView(page);
    const { dx, dy, turnDeg } = wanted();
    await field(page, 'Turned anticlockwise').fill(turnDeg.toFixed(1));
    const box = await stageBox(page);
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    await page.mouse.move(x, y);
    await page.mouse.down();
    await page.mouse.move(x + dx * view.zoom, y + dy * view.zoom, { steps: 6 });
    await page.mouse.up();
    await expectLaid(page, { um: 3, deg: 0.1 });
    await expectAccessible(page, 'laying over by hand');
    await button(page, 'Back to how it was').click();
    await expect.poll(() => page.locator('.by-hand').count()).toBe(0);
    await expectRefused(page);
  });

  it('lays three points in common over each other and measures from there', async () => {
    const { page } = program;
    await button(page, 'Lay over by hand').click();
    const view = await smallView(page);
    await button(page, 'Set points in common').click();
    expect(await button(page, 'Lay them over each other').isDisabled()).toBe(true);
    const spots = inPanes(view, await stageBox(page));
    for (const { x, y } of spots.slice(0, 4)) await page.mouse.click(x, y);
    await page.getByText('2 pairs set').waitFor();
    await expectAccessible(page, 'points in common');
    for (const { x, y } of spots.slice(4)) await page.mouse.click(x, y);
    await page.getByText('3 pairs set').waitFor();
    await button(page, 'Lay them over each other').click();
    await button(page, 'Refine from here and measure').click();
    await expectMeasuredByHand(page);
    await expect.poll(() => page.locator('.by-hand').count()).toBe(0);
  });

  it('is taken back by undo and done again, and stays after a reload', async () => {
    const { page } = program;
    await page.keyboard.press('Control+z');
    await expectRefused(page);
    await page.keyboard.press('Control+Shift+z');
    await expectMeasuredByHand(page);
    await page.reload();
    await expectMeasuredByHand(page);
    expect(program.troubles).toEqual([]);
  });
});

describe('laying over by hand, by keys and typed values, in a browser window', () => {
  const program = inOneWindow({ reducedMotion: 'reduce', forcedColors: 'active' });

  it('begins on the stage', async () => {
    const { page } = program;
    await withTwoPictures(page);
    await page.keyboard.press('Alt+c');
    await dialog(page, 'Compare two pictures').waitFor();
    await tabTo(page, /^Lay over and measure$/);
    await page.keyboard.press('Enter');
    await expectRefused(page);
    await tabTo(page, /^Lay over by hand$/);
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Laid over by hand' }).waitFor();
    expect(await page.evaluate(() => document.activeElement?.className)).toBe('stage-focus');
  });

  it('turns and pushes with keys, coarsely and finely', async () => {
    const { page } = program;
    const view = await smallView(page);
    const { dx, dy, turnDeg } = wanted();
    const [plus, minus] = turnDeg > 0 ? ['[', '{'] : [']', '}'];
    const tenths = Math.round(Math.abs(turnDeg) / 0.2);
    await times(page, minus, Math.floor(tenths / 10));
    await times(page, plus, tenths % 10);
    await steer(page, dx * view.zoom, dy * view.zoom, 'Shift+');
    await expectLaid(page, { um: 3, deg: 0.15 });
    expect(await field(page, 'Size').inputValue()).toBe('100');
  });

  it('measures from there, and Ctrl+Z takes it back', async () => {
    const { page } = program;
    await tabTo(page, /^Refine from here and measure$/);
    await page.keyboard.press('Enter');
    await expectMeasuredByHand(page);
    await expect.poll(() => page.locator('.by-hand').count()).toBe(0);
    await page.keyboard.press('Control+z');
    await expectRefused(page);
  });

  it('does the same from typed values', async () => {
    const { page } = program;
    await tabTo(page, /^Lay over by hand$/);
    await page.keyboard.press('Enter');
    await smallView(page);
    const { dx, dy, turnDeg } = wanted();
    for (const [name, value] of [
      ['To the right', dx.toFixed(1).replace('.', ',')],
      ['Down', dy.toFixed(1)],
      ['Turned anticlockwise', turnDeg.toFixed(1)],
    ] as const) {
      await field(page, name).focus();
      await page.keyboard.press('Control+a');
      await page.keyboard.type(value);
    }
    await expectLaid(page, { um: 0.1, deg: 0.1 });
    await tabTo(page, /^Refine from here and measure$/);
    await page.keyboard.press('Enter');
    await expectMeasuredByHand(page);
    await expect.poll(() => page.locator('.by-hand').count()).toBe(0);
    await page.keyboard.press('Control+z');
    await expectRefused(page);
  });

  it('sets points in common with the crosshair', async () => {
    const { page } = program;
    await tabTo(page, /^Lay over by hand$/);
    await page.keyboard.press('Enter');
    const view = await smallView(page);
    await tabTo(page, /^Set points in common$/);
    await page.keyboard.press('Enter');
    await page.locator('.picking').waitFor();
    // The crosshair starts in the middle of the stage's frame, and goes from point to point in that frame.
    let at = { x: 0, y: 0 };
    for (const point of COMMON.slice(0, 2))
      for (const which of ['baseline', 'later'] as const) {
        const to = toStage(view, onStage(which, point));
        await steer(page, to.x - at.x, to.y - at.y);
        at = { x: at.x + Math.round(to.x - at.x), y: at.y + Math.round(to.y - at.y) };
        await page.keyboard.press('Enter');
      }
    await page.getByText('2 pairs set').waitFor();
    await tabTo(page, /^Lay them over each other$/);
    await page.keyboard.press('Enter');
    await tabTo(page, /^Refine from here and measure$/);
    await page.keyboard.press('Enter');
    await expectMeasuredByHand(page);
    expect(program.troubles).toEqual([]);
  });
});
