import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Locator, Page } from 'playwright-core';
import { button, dialog, expectAccessible, focused, link, pictureShown, tabTo, times } from './parts.ts';
import { bentCantilever, chippedPair, type BentFile, type PairFiles } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { endAtFirstFailure } from './story.ts';

/**
 * What the bench is for: compare two pictures, confirm a chip that the program suspects, measure a bent cantilever.
 * Once by pointer, once by keyboard alone; the files come in through the browser's own chooser either way.
 */
const NAME = 'Third stylus';
const BEND_DEG = 6;

type Pictures = { readonly pair: PairFiles; readonly bent: BentFile };

async function addPictures(page: Page, { pair, bent }: Pictures): Promise<void> {
  await page.keyboard.press('Alt+i');
  const form = dialog(page, 'Add pictures');
  await form.getByLabel('Picture files').setInputFiles([pair.baseline, pair.later, bent.file]);
  await expect.poll(() => form.locator('.intake-ready').count(), { timeout: 30_000 }).toBe(3);
  const rows = await form.locator('.intake-ready').all();
  const facts = [
    { day: '2024-01-06', umPerPx: pair.truth.baseline.umPerPx },
    { day: '2024-07-01', umPerPx: pair.truth.later.umPerPx },
    { day: '2024-07-02', umPerPx: bent.umPerPx },
  ];
  for (const [index, row] of rows.entries()) {
    await row.getByLabel(/^View:/).selectOption(index === 2 ? 'side' : 'front');
    await row.getByLabel(/^Light:/).selectOption('backlit');
    await row.getByLabel(/^Taken on:/).fill(facts[index].day);
    await row.getByLabel('Scale', { exact: true }).selectOption('typed');
    await row.getByLabel('Micrometres per pixel').fill(String(facts[index].umPerPx));
  }
  const right = button(form, /guess(es are| is) right$/);
  if ((await right.count()) > 0) await right.click();
  await button(form, 'Add 3 pictures').click();
  await form.waitFor({ state: 'detached' });
  await expect.poll(() => page.locator('.strip-item').count()).toBe(3);
}

async function newStylus(page: Page): Promise<void> {
  await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
  await page.keyboard.press('Alt+n');
  await dialog(page, 'New stylus').getByLabel('Name').waitFor();
  await page.keyboard.type(NAME);
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { level: 1, name: NAME }).waitFor();
}

const marks = (page: Page): Locator => page.getByRole('list', { name: 'Marks of this view' });
const stage = (page: Page): Locator => page.locator('.stage-focus');

/** Where a pixel of the picture stands in the window while the whole picture is shown. */
async function inWindow(
  page: Page,
  size: BentFile['size'],
  at: { readonly x: number; readonly y: number },
): Promise<{ x: number; y: number }> {
  const box = await page.locator('.stage-canvas').boundingBox();
  if (box === null) throw new Error('inWindow: the stage is not there');
  const [width, height] = [Math.floor(box.width), Math.floor(box.height)];
  const zoom = 0.96 * Math.min(width / size.width, height / size.height);
  return {
    x: box.x + width / 2 + (at.x - (size.width - 1) / 2) * zoom,
    y: box.y + height / 2 + (at.y - (size.height - 1) / 2) * zoom,
  };
}

/** "(5.9 ± 1.1)°" or "5.9 ± 1.1" as two numbers. */
function bendOf(text: string): { value: number; expanded: number } {
  const found = /([\d.]+)\s±\s([\d.]+)/.exec(text.replaceAll('\u00a0', ' '));
  if (found === null) throw new Error(`bendOf: no value with uncertainty in "${text}"`);
  return { value: Number(found[1]), expanded: Number(found[2]) };
}

async function expectBend(page: Page): Promise<void> {
  const row = marks(page).getByRole('listitem').filter({ hasText: 'Bent cantilever' });
  await row.waitFor();
  const { value, expanded } = bendOf(await row.innerText());
  expect(Math.abs(value - BEND_DEG)).toBeLessThan(1.2);
  expect(expanded).toBeGreaterThan(0.1);
  expect(expanded).toBeLessThan(3);
}

let pictures: Pictures;
beforeAll(async () => {
  const [pair, bent] = await Promise.all([chippedPair(81), bentCantilever(5, BEND_DEG)]);
  pictures = { pair, bent };
});

describe('marks by pointer, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  beforeAll(async () => {
    program = await openProgram('browser window');
  });
  afterAll(async () => {
    await program?.close();
  });

  it('starts with three pictures', async () => {
    await newStylus(program.page);
    await addPictures(program.page, pictures);
    expect(await program.page.locator('.strip-item').count()).toBe(3);
  });

  it('compares and is asked about the chip', async () => {
    const { page } = program;
    await page.locator('.strip-item').nth(1).getByRole('button', { name: 'Compare' }).click();
    const asked = page.getByRole('list', { name: 'Suspected by the program' });
    await asked.waitFor({ timeout: 60_000 });
    expect(await asked.innerText()).toMatch(/Chip\?\s+At \d+°: [\d.]+\sµm long, [\d.]+\sµm deep/);
    await expectAccessible(page, 'the bench with a proposal');
  });

  it('confirms it, and takes that back and does it again by key', async () => {
    const { page } = program;
    await button(page, /^Confirm: chip at/).click();
    const row = marks(page).getByRole('listitem');
    await row.getByText('1. Chip, confirmed').waitFor();
    expect(await page.getByRole('list', { name: 'Suspected by the program' }).count()).toBe(0);
    await page.keyboard.press('Control+z');
    await button(page, /^Confirm: chip at/).waitFor();
    await page.keyboard.press('Control+Shift+z');
    await row.getByText('1. Chip, confirmed').waitFor();
  });

  it('remembers a rejection', async () => {
    const { page } = program;
    await button(page, /^Reject: mark 1/).click();
    await page.getByText('Rejected (1)').waitFor();
    await button(page, 'Measure again').click();
    await page.locator('.job').waitFor({ state: 'detached', timeout: 60_000 });
    expect(await page.getByRole('list', { name: 'Suspected by the program' }).count()).toBe(0);
    await page.getByText('Rejected (1)').click();
    await button(page, /^Confirm: mark 1/).click();
    await marks(page).getByText('1. Chip, confirmed').waitFor();
  });

  it('drags a handle of the mark, as one step', async () => {
    const { page } = program;
    const row = marks(page).getByRole('listitem');
    await button(page, /^Show: mark 1/).click();
    // Showing a mark brings its middle to the middle of the stage; its ends lie to both sides of it.
    await button(page, /^Edit: mark 1/).click();
    const form = dialog(page, 'Edit mark');
    const ends = await Promise.all(
      ['First end: x', 'First end: y', 'Other end: x', 'Other end: y'].map(async (name) =>
        Number(await form.getByLabel(name).inputValue()),
      ),
    );
    await expectAccessible(page, 'the form of a mark');
    await button(form, 'Cancel').click();
    const bar = page.locator('.scale-bar > span').first();
    const perUm =
      (await bar.evaluate((element) => element.getBoundingClientRect().width)) /
      Number.parseFloat((await page.locator('.scale-bar').innerText()).replace(/[^\d.]/g, ''));
    await page.locator('.stage-canvas').scrollIntoViewIfNeeded();
    const { x, y, width, height } = (await page.locator('.stage-canvas').boundingBox())!;
    const from = {
      x: x + width / 2 + ((ends[0] - ends[2]) / 2) * perUm,
      y: y + height / 2 + ((ends[1] - ends[3]) / 2) * perUm,
    };
    await page.mouse.move(from.x, from.y);
    await page.mouse.down();
    await page.mouse.move(from.x - 20, from.y - 10, { steps: 4 });
    await page.mouse.move(from.x - 40, from.y - 20, { steps: 4 });
    const sized = await row.innerText();
    await page.mouse.up();
    await expect.poll(() => row.innerText()).not.toBe(sized);
    await button(page, /^Edit: mark 1/).click();
    expect(Number(await dialog(page, 'Edit mark').getByLabel('First end: x').inputValue())).toBeCloseTo(
      ends[0] - 40 / perUm,
      0,
    );
    await button(dialog(page, 'Edit mark'), 'Cancel').click();
    await page.keyboard.press('Control+z');
    await page.getByText('Taken back: edit of a mark.').first().waitFor();
    await button(page, /^Edit: mark 1/).click();
    const back = await dialog(page, 'Edit mark').getByLabel('First end: x').inputValue();
    expect(Number(back)).toBeCloseTo(ends[0], 2);
    await button(dialog(page, 'Edit mark'), 'Cancel').click();
    expect(await row.count()).toBe(1);
  });

  it('shows the mark again on the baseline, on its own', async () => {
    const { page } = program;
    await link(page, NAME).click();
    await page.locator('.timeline-mark').getByText('Chip, confirmed').waitFor();
    await link(page.locator('.strip-item').first(), /6 Jan 2024/).click();
    const row = marks(page).getByRole('listitem');
    await row.getByText('1. Chip, confirmed').waitFor();
    expect(await row.innerText()).not.toContain('no place in this picture');
    await link(page, NAME).click();
  });

  it('measures a bent cantilever in the side picture', async () => {
    const { page } = program;
    const { bent } = pictures;
    await link(page.locator('.strip-item').nth(2), /2 Jul 2024/).click();
    await page.getByRole('heading', { level: 1, name: /Picture of/ }).waitFor();
    await pictureShown(page);
    await page.getByLabel('Mark a').selectOption({ label: 'Bent cantilever' });
    await button(page, 'Angle').click();
    for (const spot of bent.axisPx) {
      const { x, y } = await inWindow(page, bent.size, spot);
      await page.mouse.click(x, y);
    }
    const form = dialog(page, 'New mark');
    await form.waitFor();
    expect(await form.getByText(/^Drawn:/).innerText()).toMatch(/Drawn: \([\d.]+\s±\s[\d.]+\)°/);
    await form.getByLabel('How sure').selectOption('confirmed');
    await form.getByLabel('Seen by').fill('the owner');
    await button(form, 'Save mark').click();
    await expectBend(page);
    await marks(page).getByText('by the owner').waitFor();
    await expectAccessible(page, 'one picture with a mark');
  });

  it('leaves no trace of a mark that was not finished', async () => {
    const { page } = program;
    const { bent } = pictures;
    const before = await marks(page).getByRole('listitem').count();
    await button(page, 'Line').click();
    const { x, y } = await inWindow(page, bent.size, bent.axisPx[0]);
    await page.mouse.click(x, y);
    await page.keyboard.press('Escape');
    expect(await page.locator('.picking').count()).toBe(0);
    expect(await marks(page).getByRole('listitem').count()).toBe(before);
    expect(program.troubles).toEqual([]);
  });
});

describe('marks by keyboard alone, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  beforeAll(async () => {
    program = await openProgram('browser window', { reducedMotion: 'reduce', forcedColors: 'active' });
  });
  afterAll(async () => {
    await program?.close();
  });

  it('starts with three pictures', async () => {
    await newStylus(program.page);
    await addPictures(program.page, pictures);
    expect(await program.page.locator('.strip-item').count()).toBe(3);
  });

  const command = async (page: Page, words: string): Promise<void> => {
    await page.keyboard.press('Control+k');
    await dialog(page, 'Command list').getByRole('combobox').waitFor();
    await page.keyboard.type(words);
    await page.keyboard.press('Enter');
  };
  /** From where the crosshair stands by so many screen pixels, in tens and ones. */
  const steer = async (page: Page, dx: number, dy: number): Promise<void> => {
    for (const [by, plus, minus] of [
      [Math.round(dx), 'ArrowRight', 'ArrowLeft'],
      [Math.round(dy), 'ArrowDown', 'ArrowUp'],
    ] as const) {
      const key = by > 0 ? plus : minus;
      await times(page, key, Math.floor(Math.abs(by) / 10));
      await times(page, `Shift+${key}`, Math.abs(by) % 10);
    }
  };

  it('compares and confirms the chip', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+c');
    await dialog(page, 'Compare two pictures').waitFor();
    const later = dialog(page, 'Compare two pictures').getByLabel('Later picture');
    expect(await later.locator('option:checked').innerText()).toContain('1\u00a0Jul\u00a02024');
    await tabTo(page, /^Lay over and measure$/);
    await page.keyboard.press('Enter');
    await page.getByRole('list', { name: 'Suspected by the program' }).waitFor({ timeout: 60_000 });
    await tabTo(page, /^Confirm: chip at/);
    await page.keyboard.press('Enter');
    await marks(page).getByText('1. Chip, confirmed').waitFor();
  });

  /** Where the mark's first end lies, as its form says; opened and closed by keys. */
  const firstEnd = async (page: Page): Promise<number> => {
    await tabTo(page, /^Edit: mark 1/);
    await page.keyboard.press('Enter');
    const value = await dialog(page, 'Edit mark').getByLabel('First end: x').inputValue();
    await page.keyboard.press('Escape');
    await dialog(page, 'Edit mark').waitFor({ state: 'detached' });
    // The focus is where it was, not at the start of the page.
    await expect.poll(() => focused(page)).toMatch(/^Edit: mark 1/);
    return Number(value);
  };

  it('goes on from the marks when the question that was answered is gone', async () => {
    const { page } = program;
    expect(await focused(page)).toBe('Marks');
  });

  it('pushes the mark along with keys, as one step that Ctrl+Z takes back', async () => {
    const { page } = program;
    await tabTo(page, /^Show: mark 1/);
    await page.keyboard.press('Enter');
    const before = await firstEnd(page);
    await stage(page).focus();
    await times(page, 'Control+Shift+ArrowRight', 3);
    await expect.poll(() => firstEnd(page), { timeout: 40_000 }).toBeGreaterThan(before);
    await page.keyboard.press('Control+z');
    await expect.poll(() => firstEnd(page), { timeout: 40_000 }).toBeCloseTo(before, 2);
  });

  it('takes slow pushes back as one step, too, and the last push when it was not saved yet', async () => {
    const { page } = program;
    const before = await firstEnd(page);
    await stage(page).focus();
    // Long enough apart that each of them is saved on its own.
    for (let i = 0; i < 3; i++) {
      await page.keyboard.press('Control+ArrowRight');
      await page.waitForTimeout(700);
    }
    await page.keyboard.press('Control+ArrowRight');
    await page.keyboard.press('Control+z');
    await expect.poll(() => firstEnd(page), { timeout: 40_000 }).toBeCloseTo(before, 2);
    // The step before, that the chip was confirmed, still stands.
    await marks(page).getByText('1. Chip, confirmed').waitFor();
  });

  it('keeps a push when the screen is left at once, and edits the mark as it then is', async () => {
    const { page } = program;
    const before = await firstEnd(page);
    await stage(page).focus();
    await page.keyboard.press('Control+Shift+ArrowRight');
    await page.evaluate(() => history.back());
    await page.getByRole('heading', { level: 1, name: NAME }).waitFor();
    await page.evaluate(() => history.forward());
    await marks(page).waitFor();
    const after = await firstEnd(page);
    expect(after).toBeGreaterThan(before);
    await tabTo(page, /^Show: mark 1/);
    await page.keyboard.press('Enter');
    await stage(page).focus();
    await page.keyboard.press('Control+Shift+ArrowRight');
    // Without a pause: what the form shows is what was pushed, not what had been saved.
    expect(await firstEnd(page)).toBeGreaterThan(after);
    await page.keyboard.press('Control+z');
    await expect.poll(() => firstEnd(page), { timeout: 40_000 }).toBeCloseTo(after, 2);
  });

  it('closes a form with Escape although a message came up over it, and shows the message beside it', async () => {
    const { page } = program;
    await tabTo(page, /^Edit: mark 1/);
    await page.keyboard.press('Enter');
    const form = dialog(page, 'Edit mark');
    await form.waitFor();
    await expect.poll(() => page.locator('.toast').count(), { timeout: 20_000 }).toBe(0);
    await tabTo(page, /^Cancel$/);
    await page.keyboard.press('Control+z');
    const message = page.locator('.toast').first();
    await message.waitFor();
    const overlap = async (): Promise<boolean> => {
      const [a, b] = [(await message.boundingBox())!, (await form.boundingBox())!];
      const apart =
        a.y + a.height <= b.y || b.y + b.height <= a.y || a.x + a.width <= b.x || b.x + b.width <= a.x;
      return !apart;
    };
    await expect.poll(overlap).toBe(false);
    await tabTo(page, /^Cancel$/);
    await page.keyboard.press('Escape');
    await form.waitFor({ state: 'detached', timeout: 5000 });
    await page.keyboard.press('Control+Shift+z');
    await page
      .getByText(/^Done again/)
      .first()
      .waitFor();
  });

  it('measures the bent cantilever with the crosshair', async () => {
    const { page } = program;
    const { bent } = pictures;
    await command(page, 'go stylus page');
    await page.getByRole('heading', { level: 1, name: NAME }).waitFor();
    await link(page.locator('.strip-item').nth(2), /2 Jul 2024/).focus();
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: /Picture of/ }).waitFor();
    await page.locator('.scale-bar').waitFor();
    // The picture must be there before the whole of it is shown.
    await pictureShown(page);
    await command(page, 'next mark bent');
    await command(page, 'mark: angle');
    await page.locator('.picking').getByText('near the root').waitFor();
    let at = await inWindow(page, bent.size, {
      x: (bent.size.width - 1) / 2,
      y: (bent.size.height - 1) / 2,
    });
    for (const spot of bent.axisPx) {
      const to = await inWindow(page, bent.size, spot);
      const [dx, dy] = [Math.round(to.x - at.x), Math.round(to.y - at.y)];
      await steer(page, dx, dy);
      at = { x: at.x + dx, y: at.y + dy };
      await page.keyboard.press('Enter');
    }
    await dialog(page, 'New mark').waitFor();
    await tabTo(page, /^Save mark$/);
    await page.keyboard.press('Enter');
    await expectBend(page);
    expect(await marks(page).getByRole('listitem').count()).toBe(1);
  });

  it('types a mark in, with a comma and a size of its own', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+k');
    const form = dialog(page, 'New mark');
    await form.waitFor();
    await form.getByLabel('What it is').focus();
    await page.keyboard.type('Crack');
    await form.getByLabel('Size', { exact: true }).focus();
    await page.keyboard.type('12,5');
    await page.keyboard.press('Enter');
    await form.waitFor({ state: 'detached' });
    const row = marks(page).getByRole('listitem').filter({ hasText: 'Crack' });
    await row.waitFor();
    expect((await row.innerText()).replaceAll('\u00a0', ' ')).toContain('12.5 µm, uncertainty not stated');
  });

  it('says every state in words where colours are forced, without a violation', async () => {
    const { page } = program;
    await expectAccessible(page, 'one picture with marks, colours forced');
    expect(program.troubles).toEqual([]);
  });
});
