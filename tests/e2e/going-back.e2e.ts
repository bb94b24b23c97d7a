import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { button, command, dialog, hasFocus, link, pictureShown, tabTo } from './parts.ts';
import { openProgram, type Program } from './program.ts';
import { endAtFirstFailure } from './story.ts';

/** What could close a dialog by accident while it is open: the browser's Back, Escape, a click beside it. */
const EVERYDAY = 'Everyday stylus (demo)';

/** A dialog listens to what is beside it from the page's next turn on, so that the press that opened it does not close it. */
async function clickBesideIt(page: Page): Promise<void> {
  await page.evaluate(
    () =>
      new Promise((resolve) => {
        setTimeout(resolve, 50);
      }),
  );
  await page.mouse.click(4, 400);
}

describe('going back with a dialog open', () => {
  endAtFirstFailure();
  let program: Program;
  beforeAll(async () => {
    program = await openProgram('browser window');
    const { page } = program;
    await link(page, EVERYDAY).first().click({ timeout: 60_000 });
    await page.getByRole('heading', { level: 1, name: EVERYDAY }).waitFor();
  });
  afterAll(async () => {
    await program?.close();
  });

  it('keeps a form in which something was typed, and says why', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+l');
    const form = dialog(page, 'Log playing time');
    await form.getByLabel('Note').fill('half of a long evening');
    await page.goBack();
    await page.getByText('A form is open and not saved. Save or cancel it first.').first().waitFor();
    expect(await form.getByLabel('Note').inputValue()).toBe('half of a long evening');
    await page.getByRole('heading', { level: 1, name: EVERYDAY, includeHidden: true }).waitFor();
    await button(form, 'Cancel').click();
    await form.waitFor({ state: 'detached' });
  });

  it('keeps it from Escape and from a click beside it too, each with a message, until its own button', async () => {
    const { page } = program;
    const message = page.locator('.toast', {
      hasText: 'A form is open and not saved. Save or cancel it first.',
    });
    await page.keyboard.press('Alt+l');
    const form = dialog(page, 'Log playing time');
    await form.getByLabel('Note').fill('typed with care');
    await page.keyboard.press('Escape');
    await message.waitFor();
    // With that message above the form, too.
    await form.getByLabel('Note').press('Escape');
    await message.waitFor();
    // It stands within the dialog for assistive technology and keys, although it is no part of the form.
    await tabTo(page, /^Dismiss message$/);
    await page.keyboard.press('Enter');
    await message.waitFor({ state: 'detached' });
    await page.mouse.click(4, 400);
    await message.waitFor();
    expect(await form.getByLabel('Note').inputValue()).toBe('typed with care');
    await button(form, 'Close').click();
    await form.waitFor({ state: 'detached' });
    await message.waitFor({ state: 'detached' });
  });

  it.each([
    ['Escape', (page: Page) => page.keyboard.press('Escape')],
    ['a click beside it', clickBesideIt],
  ] as const)('closes a form that nobody typed into by %s', async (_name, way) => {
    const { page } = program;
    await page.keyboard.press('Alt+l');
    const form = dialog(page, 'Log playing time');
    await hasFocus(form.locator('input').first());
    await way(page);
    await form.waitFor({ state: 'detached' });
    expect(await page.getByRole('dialog').count()).toBe(0);
  });

  it('goes back once it is cancelled', async () => {
    const { page } = program;
    await page.goBack();
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    expect(await page.getByRole('dialog').count()).toBe(0);
    await page.goForward();
    await page.getByRole('heading', { level: 1, name: EVERYDAY }).waitFor();
  });

  it('keeps a setting that is not taken as it was typed, and says why until it is', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+o');
    const form = dialog(page, 'Settings');
    const [minutes, from, to] = ['Minutes a side', 'Common practice: from', 'Common practice: to'].map(
      (name) => form.getByLabel(name, { exact: true }),
    );
    const errors = form.locator('.field-error');
    await minutes.fill('abc');
    await from.fill('2000');
    // Too large already, said at once; the other one once its field was left.
    await expect
      .poll(() => errors.allInnerTexts())
      .toEqual([
        expect.stringMatching(/^Write one number.* stays at 22\smin\.$/),
        expect.stringMatching(/^1[\s,]?000\sh at the most\. Until then it stays at 400\sh\.$/),
      ]);
    await to.fill('3000');
    await expect.poll(() => errors.count()).toBe(1);
    expect([await minutes.inputValue(), await from.inputValue()]).toEqual(['abc', '2000']);
    await minutes.fill('20,5');
    await expect.poll(() => errors.count()).toBe(0);
    await button(form, 'Close').click();
    await page.keyboard.press('Alt+o');
    const kept = await Promise.all([minutes, from, to].map((field) => field.inputValue()));
    expect(kept).toEqual(['20.5', '2000', '3000']);
    await button(form, 'Close').click();
    await form.waitFor({ state: 'detached' });
  });

  it('keeps a form that stands in a page, from the browser’s Back and from a command', async () => {
    const { page } = program;
    const message = page.locator('.toast', { hasText: 'A form is open and not saved.' });
    await command(page, 'listening: passages');
    await page.getByRole('heading', { level: 1, name: 'Listening' }).waitFor();
    await button(page, 'New passage or test band').click();
    const form = page.getByRole('form', { name: 'New passage or test band' });
    await form.getByLabel('Name').fill('the loud song');
    await page.goBack();
    await message.waitFor();
    await button(page, 'Dismiss message').click();
    await message.waitFor({ state: 'detached' });
    await page.keyboard.press('Alt+s');
    await message.waitFor();
    expect(await form.getByLabel('Name').inputValue()).toBe('the loud song');
    await button(form, 'Cancel').click();
    await message.waitFor({ state: 'detached' });
    await page.goBack();
    await page.getByRole('heading', { level: 1, name: EVERYDAY }).waitFor();
  });

  it('keeps an outline that is half drawn', async () => {
    const { page } = program;
    const message = page.locator('.toast', { hasText: 'A mark is half drawn.' });
    await page.locator('.strip-link').first().click();
    await pictureShown(page);
    await button(page, 'Outline').click();
    await page.locator('.stage-canvas').click({ position: { x: 200, y: 150 } });
    await button(page, 'Take back a point').click({ trial: true });
    await page.goBack();
    await message.waitFor();
    expect(await button(page, 'Take back a point').isEnabled()).toBe(true);
    await button(page, 'Leave it').click();
    await message.waitFor({ state: 'detached' });
    await page.goBack();
    await page.getByRole('heading', { level: 1, name: EVERYDAY }).waitFor();
  });

  it('closes what nobody typed into, and what takes effect at once', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+l');
    await hasFocus(dialog(page, 'Log playing time').locator('input').first());
    await page.goBack();
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    expect(await page.getByRole('dialog').count()).toBe(0);
    await page.goForward();
    await page.getByRole('heading', { level: 1, name: EVERYDAY }).waitFor();
    await page.keyboard.press('Alt+o');
    await dialog(page, 'Settings').getByLabel('Lengths in').selectOption('mil');
    await page.goBack();
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    expect(await page.getByRole('dialog').count()).toBe(0);
    expect(program.troubles).toEqual([]);
  });
});
