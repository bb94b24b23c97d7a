import { AxeBuilder } from '@axe-core/playwright';
import type { Locator, Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { button, dialog, expectAccessible, link, pictureShown, tabTo } from './parts.ts';
import { inOneWindow } from './story.ts';

/**
 * What a screen reader is given of the bench's panels, kept as trees beside this file, and every panel, dialog and way of
 * looking judged in light, dark and forced colours. Numbers are written as N in the trees: what is kept is that they are
 * there, with uncertainty and unit; whether they are right is judged elsewhere.
 */
const NAME = 'Knocked stylus (demo)';

type Media = NonNullable<Parameters<Page['emulateMedia']>[0]>;
const LOOKS: readonly (readonly [string, Media])[] = [
  ['light', { colorScheme: 'light', forcedColors: 'none', reducedMotion: 'no-preference' }],
  ['dark', { colorScheme: 'dark', forcedColors: 'none', reducedMotion: 'no-preference' }],
  ['forced colours, less motion', { colorScheme: 'dark', forcedColors: 'active', reducedMotion: 'reduce' }],
];

/** Some dates are today's. */
const DATE = /\bN (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec) N\b/g;

/** The tree without addresses, every number as N and every month as Month. */
async function tree(part: Locator): Promise<string> {
  const text = await part.ariaSnapshot();
  return (
    text
      .split('\n')
      .filter((line) => !/^\s*- \/url:/.test(line))
      .join('\n')
      .replaceAll('\u00a0', ' ')
      .replaceAll(/\u2212?\d[\d.,\u202f]*/g, 'N')
      .replaceAll(DATE, 'N Month N')
      // How many marks an axis has hangs on the values.
      .replaceAll(/\b(?:N )+(?=N\b)/g, '')
      .concat('\n')
  );
}

const region = (page: Page, name: string | RegExp): Locator => page.getByRole('region', { name });

async function toStylus(page: Page, name: string): Promise<void> {
  await link(page, 'Stylus Daybook').click();
  await link(page, name).first().waitFor({ timeout: 60_000 });
  await link(page, name).first().click();
  await page.getByRole('heading', { level: 1, name }).waitFor();
}

async function toPicture(page: Page, name: string, kind: string): Promise<void> {
  await toStylus(page, name);
  await page.locator('.strip-item', { hasText: kind }).last().getByRole('link').first().click();
  await page.getByRole('heading', { level: 1, name: /Picture of/ }).waitFor();
  await pictureShown(page);
}

async function toBench(page: Page): Promise<void> {
  await toStylus(page, NAME);
  await page.locator('.strip-item').getByRole('button', { name: 'Compare' }).first().click();
  await page.locator('.big-value').first().waitFor({ timeout: 90_000 });
}

async function inEveryLook(page: Page, where: string): Promise<void> {
  for (const [look, media] of LOOKS) {
    await page.emulateMedia(media);
    await expectAccessible(page, `${where}, ${look}`);
  }
  await page.emulateMedia(LOOKS[0][1]);
}

describe('the panels of the bench', () => {
  const program = inOneWindow();

  it('give numbers, budget and profile with their uncertainty to a screen reader', async () => {
    const { page } = program;
    await toBench(page);
    const numbers = await tree(page.locator('.bench-panel'));
    expect(numbers).toMatch(/N ± N µm/);
    await expect(numbers).toMatchFileSnapshot('trees/numbers.txt');
    await page.getByText('Where the uncertainty comes from').first().click();
    const budget = await tree(page.locator('.budget').first());
    expect(budget).toMatch(/one standard deviation in µm/);
    await expect(budget).toMatchFileSnapshot('trees/budget.txt');
    await page.getByLabel('At angle').fill('135');
    await expect.poll(() => page.locator('.probe-value').innerText()).toMatch(/±/);
    const profile = await tree(page.locator('.profile'));
    expect(profile).toMatch(/N ± N µm/);
    await expect(profile).toMatchFileSnapshot('trees/profile.txt');
  });

  it('give the marks, first as a question and then as an answer', async () => {
    const { page } = program;
    await expect(await tree(region(page, 'Marks'))).toMatchFileSnapshot('trees/marks-question.txt');
    await button(page, /^Confirm: chip at/).click();
    await button(page, /^Edit: mark 1/).waitFor();
    await expect(await tree(region(page, 'Marks'))).toMatchFileSnapshot('trees/marks.txt');
    await button(page, /^Edit: mark 1/).click();
    await expect(await tree(dialog(page, 'Edit mark'))).toMatchFileSnapshot('trees/mark-form.txt');
    await inEveryLook(page, 'the form of a mark');
    await button(dialog(page, 'Edit mark'), 'Cancel').click();
    await inEveryLook(page, 'the bench with its marks');
  });

  it('give what a hand does, and points in common', async () => {
    const { page } = program;
    await button(page, 'Lay over by hand').click();
    await page.locator('.stage-focus').press('Shift+ArrowRight');
    await expect(await tree(region(page, 'Laid over by hand'))).toMatchFileSnapshot('trees/by-hand.txt');
    await inEveryLook(page, 'laying over by hand');
    await tabTo(page, /^Set points in common$/);
    await page.keyboard.press('Enter');
    await page.locator('.picking').waitFor();
    await expect(await tree(region(page, 'Laid over by hand'))).toMatchFileSnapshot(
      'trees/points-in-common.txt',
    );
    await inEveryLook(page, 'points in common');
    await button(page, 'Leave the points').click();
    await button(page, 'Back to how it was').click();
    await page.locator('.by-hand').waitFor({ state: 'detached' });
  });

  it('stand the machine’s judgement in every way of looking, target sizes included', async () => {
    const { page } = program;
    const judged = await new AxeBuilder({ page }).withTags(['wcag22aa']).analyze();
    expect([...judged.passes, ...judged.violations].map(({ id }) => id)).toContain('target-size');
    await page.getByText('Turn, outlines, tones').click();
    for (const [index, way] of [
      'Laid over',
      'Taking turns',
      'Split',
      'Side by side',
      'Outlines',
      'Difference',
    ].entries()) {
      await page.locator('.stage-focus').press(String(index + 1));
      await page.getByRole('radio', { name: way, checked: true }).waitFor();
      await inEveryLook(page, `the bench, ${way}`);
    }
  }, 600_000);

  it.each([
    ['Edit picture', null],
    ['Compare two pictures', 'Alt+c'],
    ['New mark', 'Alt+k'],
    ['Command list', 'Control+k'],
  ])('stand it in the dialog %s', async (title, key) => {
    const { page } = program;
    await page.locator('.stage-focus').focus();
    if (key === null) await button(page, 'Edit later picture').click();
    else await page.keyboard.press(key);
    const form = page.getByRole('dialog').first();
    await form.waitFor();
    await inEveryLook(page, title);
    // Its place was set on the picture, which no single key throws away.
    if (title === 'New mark') await button(form, 'Cancel').click();
    else await page.keyboard.press('Escape');
    await form.waitFor({ state: 'detached' });
    expect(await page.getByRole('dialog').count()).toBe(0);
  });

  it('give a bent cantilever, and stand it there', async () => {
    const { page } = program;
    await toPicture(page, NAME, 'side, 90');
    await expect.poll(() => page.locator('.bench-panel').innerText(), { timeout: 60_000 }).toMatch(/Bend/);
    const panel = await tree(page.locator('.bench-panel'));
    expect(panel).toMatch(/\(N ± N\)°/);
    await expect(panel).toMatchFileSnapshot('trees/cantilever.txt');
    await inEveryLook(page, 'a cantilever');
  });

  it('give the flats of an end-on picture, outlined in it, and stand it there', async () => {
    const { page } = program;
    await toPicture(page, 'Everyday stylus (demo)', 'end-on');
    await page.getByText('Outlined in the picture').waitFor({ timeout: 60_000 });
    const panel = await tree(page.locator('.bench-panel'));
    expect(panel).toMatch(/N ± N µm along the groove/);
    await expect(panel).toMatchFileSnapshot('trees/end-on.txt');
    await button(page, 'Fit tip').click();
    await expect.poll(() => orange(page)).toBeGreaterThan(200);
    await page.getByText('Turn, outlines, tones').click();
    await page.getByLabel('Outlines over the picture').uncheck();
    await expect.poll(() => orange(page)).toBeLessThan(20);
    await page.getByLabel('Outlines over the picture').check();
    await inEveryLook(page, 'an end-on picture');
    expect(program.troubles).toEqual([]);
  });
});

/** How many of the stage's pixels are of the outline's colour; the picture itself is grey. */
function orange(page: Page): Promise<number> {
  return page.locator('.stage-canvas').evaluate((element) => {
    const canvas = element as HTMLCanvasElement;
    const { data } = canvas.getContext('2d')!.getImageData(0, 0, canvas.width, canvas.height);
    let count = 0;
    for (let i = 0; i < data.length; i += 4) if (data[i] - data[i + 2] > 90) count += 1;
    return count;
  });
}
