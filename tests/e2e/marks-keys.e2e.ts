import type { Page } from 'playwright-core';
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
import {
  command,
  dialog,
  expectAccessible,
  focused,
  link,
  pictureShown,
  steer,
  tabTo,
  times,
} from './parts.ts';
import { inOneWindow } from './story.ts';

/** The same as `marks.e2e.ts` by keyboard alone, with colours forced, and what only keys can bring about. */
let pictures: Pictures;
beforeAll(async () => {
  pictures = await markPictures();
});

describe('marks by keyboard alone, in a browser window', () => {
  const program = inOneWindow({ reducedMotion: 'reduce', forcedColors: 'active' });

  it('starts with three pictures', async () => {
    await startWith(program.page, pictures);
    await expect.poll(() => program.page.locator('.strip-item').count()).toBe(3);
  });

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
    await expect.poll(() => focused(page)).toBe('Marks');
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
    await expect.poll(() => page.locator('.toast').count(), { timeout: 60_000 }).toBe(0);
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
    await form.waitFor({ state: 'detached' });
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
    // Letter by letter a slow machine could take "Crack" for two words.
    const kind = form.getByLabel('What it is');
    await kind.focus();
    await page.keyboard.press('Home');
    while ((await kind.locator('option:checked').innerText()) !== 'Crack')
      await page.keyboard.press('ArrowDown');
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
