import { beforeAll, describe, expect, it } from 'vitest';
import {
  expectBend,
  inWindow,
  markPictures,
  marks,
  NAME,
  stage,
  startWith,
  type Pictures,
} from './marks-parts.ts';
import { button, dialog, expectAccessible, link, pictureShown } from './parts.ts';
import { inOneWindow } from './story.ts';

/**
 * What the bench is for: compare two pictures, confirm a chip that the program suspects, measure a bent cantilever.
 * By pointer here, by keyboard alone in `marks-keys.e2e.ts`; the files come in through the browser's own chooser either way.
 */
let pictures: Pictures;
beforeAll(async () => {
  pictures = await markPictures();
});

describe('marks by pointer, in a browser window', () => {
  const program = inOneWindow();

  it('starts with three pictures', async () => {
    await startWith(program.page, pictures);
    await expect.poll(() => program.page.locator('.strip-item').count()).toBe(3);
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
    await expect.poll(() => page.getByRole('list', { name: 'Suspected by the program' }).count()).toBe(0);
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
    // One that is not picked out is taken by its handle all the same.
    await stage(page).press('Escape');
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
    await dialog(page, 'Edit mark').waitFor({ state: 'detached' });
    const message = page.locator('.toast', { hasText: 'Chip: its size and place were changed.' });
    await button(message, 'Undo').click();
    await page.getByText('Taken back: edit of a mark.').first().waitFor();
    expect(await message.count()).toBe(0);
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
    await page.locator('.picking').waitFor({ state: 'detached' });
    expect(await marks(page).getByRole('listitem').count()).toBe(before);
    expect(program.troubles).toEqual([]);
  });
});
