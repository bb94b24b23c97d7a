import type { Page } from 'playwright-core';
import { describe, expect, it } from 'vitest';
import { button, link, pictureShown } from './parts.ts';
import { inOneWindow } from './story.ts';

/** What hands and eyes do on the bench of the demo, from whichever corner they come. */
const EVERYDAY = 'Everyday stylus (demo)';
const KNOCKED = 'Knocked stylus (demo)';

async function openBench(page: Page, name: string): Promise<void> {
  await page.getByRole('link', { name: 'Stylus Daybook' }).click();
  await link(page, name).first().click();
  await page.getByRole('heading', { level: 1, name }).waitFor();
  const later = page.locator('.strip-item').filter({ hasText: 'front' }).last();
  await later
    .getByRole('link', { name: 'Compared: open' })
    .or(later.getByRole('button', { name: 'Compare' }))
    .first()
    .click();
  await page.locator('.big-value').first().waitFor({ timeout: 90_000 });
  await pictureShown(page);
}

const way = (page: Page) => page.locator('.ways [data-state=on]');

/** Red, green and blue of the stage, as shares of its pixels that are nearly black, nearly grey, and coloured. */
function coloursOf(page: Page): Promise<{ black: number; mean: number; orange: number; blue: number }> {
  return page.locator('.stage-canvas').evaluate((canvas) => {
    const { width, height } = canvas as HTMLCanvasElement;
    const probe = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true })!;
    probe.drawImage(canvas as HTMLCanvasElement, 0, 0);
    const { data } = probe.getImageData(0, 0, width, height);
    const found = { black: 0, mean: 0, orange: 0, blue: 0 };
    for (let i = 0; i < data.length; i += 4) {
      const [red, green, blue] = [data[i], data[i + 1], data[i + 2]];
      found.mean += (red + green + blue) / 3;
      if (Math.max(red, green, blue) < 40) found.black++;
      if (red - blue > 60) found.orange++;
      if (blue - red > 60) found.blue++;
    }
    const count = data.length / 4;
    return {
      black: found.black / count,
      mean: found.mean / count,
      orange: found.orange / count,
      blue: found.blue / count,
    };
  });
}

describe('the bench of the demo', () => {
  const program = inOneWindow();

  it('takes the keys 1 to 6 from wherever the hands are', async () => {
    const { page } = program;
    await link(page, EVERYDAY).first().waitFor({ timeout: 60_000 });
    await openBench(page, EVERYDAY);
    // As it was opened: nothing on the stage has been touched.
    for (const [key, name] of [
      ['3', 'Split'],
      ['5', 'Outlines'],
      ['1', 'Laid over'],
    ]) {
      await page.keyboard.press(key);
      await expect.poll(() => way(page).innerText()).toBe(name);
    }
    await button(page, 'Fit tip').focus();
    await page.keyboard.press('4');
    await expect.poll(() => way(page).innerText()).toBe('Side by side');
  });

  it('leaves them to a field, a list and a dialog', async () => {
    const { page } = program;
    await page.getByLabel('At angle').fill('');
    await page.keyboard.type('2');
    await page.getByLabel('Mark a').focus();
    await page.keyboard.press('2');
    await page.keyboard.press('F1');
    await page.getByRole('dialog', { name: 'Help and cautions' }).waitFor();
    await page.keyboard.press('2');
    await page.getByText('On the bench, outside of fields').scrollIntoViewIfNeeded();
    await page.keyboard.press('Escape');
    await page.getByRole('dialog').waitFor({ state: 'detached' });
    expect(await way(page).innerText()).toBe('Side by side');
  });

  it('shows differences that can be seen, and says how far they are stretched', async () => {
    const { page } = program;
    await button(page, 'Fit tip').focus();
    await page.keyboard.press('6');
    await expect.poll(() => way(page).innerText()).toBe('Difference');
    await expect.poll(async () => (await coloursOf(page)).mean).toBeGreaterThan(80);
    const seen = await coloursOf(page);
    expect(seen.black).toBeLessThan(0.1);
    expect(seen.orange).toBeGreaterThan(0.002);
    expect(seen.blue).toBeGreaterThan(0.002);
    expect(await page.locator('.bench-legend').innerText()).toContain('from 32 of 255 levels of brightness');
    await page.getByLabel('Stretched by').selectOption('2');
    expect(await page.locator('.bench-legend').innerText()).toContain('from 128 of 255 levels of brightness');
    await expect.poll(async () => (await coloursOf(page)).orange).toBeLessThan(seen.orange);
    await button(page, 'Fit tip').focus();
    await page.keyboard.press('1');
  });

  it('asks about a chip on the background, and takes none outside of the picture', async () => {
    const { page } = program;
    await button(page, 'Fit tip').click();
    const box = (await page.locator('.stage-canvas').boundingBox())!;
    await button(page, 'Point').click();
    await page.mouse.click(box.x + box.width * 0.93, box.y + box.height * 0.85);
    const form = page.getByRole('dialog', { name: 'New mark' });
    await form.getByText(/lies on the background, \d+\sµm from the part/).waitFor();
    await button(form, 'Save mark').click();
    await form.getByText('Say that it is meant there').waitFor();
    await form.getByLabel('Place: x').fill('90000');
    await button(form, 'Save mark').click();
    await form.getByText('Outside the picture.').waitFor();
    await form.getByLabel('Place: x').fill('0');
    await form.getByLabel('Place: y').fill('10');
    await expect.poll(() => form.getByText('lies on the background').count()).toBe(0);
    await button(form, 'Cancel').click();
    await form.waitFor({ state: 'detached' });
    // As marked, once somebody says so.
    await button(page, 'Point').click();
    await page.mouse.click(box.x + box.width * 0.93, box.y + box.height * 0.85);
    await form.getByLabel('It is meant there').check();
    await button(form, 'Save mark').click();
    await form.waitFor({ state: 'detached' });
    await page.getByText('1. Chip, suspected').waitFor();
    expect(await page.getByText('marked, not measured').count()).toBe(1);
    await page.keyboard.press('Control+z');
    await page.getByText('1. Chip, suspected').waitFor({ state: 'detached' });
  });

  it('takes what the pointer read along to no other stylus', async () => {
    const { page } = program;
    const box = (await page.locator('.stage-canvas').boundingBox())!;
    await page.mouse.move(box.x + box.width / 2 + 40, box.y + box.height * 0.7);
    await page.locator('.pointer-readout').waitFor();
    await expect.poll(() => page.getByLabel('At angle', { exact: true }).inputValue()).not.toBe('');
    // By keys, so that the pointer never leaves the stage.
    await page.keyboard.press('Alt+s');
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    await link(page, KNOCKED).first().press('Enter');
    await page.getByRole('heading', { level: 1, name: KNOCKED }).waitFor();
    await page.keyboard.press('Alt+c');
    await page.getByRole('dialog').getByRole('button', { name: 'Lay over and measure' }).press('Enter');
    await page.locator('.big-value').first().waitFor({ timeout: 90_000 });
    expect(await page.locator('.pointer-readout').count()).toBe(0);
    expect(await page.getByLabel('At angle', { exact: true }).inputValue()).toBe('');
    expect(program.troubles).toEqual([]);
  });
});
