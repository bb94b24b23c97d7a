import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { button, dialog, link } from './parts.ts';
import { openProgram, type Program } from './program.ts';
import { endAtFirstFailure } from './story.ts';

/** Messages cover nothing that must be read: cautions, warnings, and the head of a page. */
const EVERYDAY = 'Everyday stylus (demo)';

/** What of it lies under a message, by its first words. */
const coveredWords = (page: Page): Promise<string[]> =>
  page.evaluate(() => {
    const boxOf = (element: Element): DOMRect => {
      const range = document.createRange();
      range.selectNodeContents(element);
      return range.getBoundingClientRect();
    };
    const toasts = [...document.querySelectorAll('.toast')].map((one) => one.getBoundingClientRect());
    return [...document.querySelectorAll('#root :is(h1, .cautions, .due, .advice-head)')]
      .filter((element) => {
        const box = boxOf(element);
        return toasts.some(
          (toast) =>
            toast.left < box.right &&
            box.left < toast.right &&
            toast.top < box.bottom &&
            box.top < toast.bottom,
        );
      })
      .map((element) => (element.textContent ?? '').slice(0, 40));
  });

async function logSomething(page: Page): Promise<void> {
  await page.keyboard.press('Alt+l');
  const form = dialog(page, 'Log playing time');
  await form.locator('input').first().fill('2');
  await form.getByRole('button', { name: /^(Save|Log)/ }).click();
  await form.waitFor({ state: 'detached' });
  await page.locator('.toast', { hasText: 'of playing time saved' }).last().waitFor();
}

describe.each([1280, 760])('messages in a window of %i px', (width) => {
  endAtFirstFailure();
  let program: Program;
  beforeAll(async () => {
    program = await openProgram('browser window', { viewport: { width, height: 860 } });
    const { page } = program;
    await link(page, EVERYDAY).first().click({ timeout: 60_000 });
    await page.getByRole('heading', { level: 1, name: EVERYDAY }).waitFor();
  });
  afterAll(async () => {
    await program?.close();
  });

  it('cover neither the cautions of a live picture nor its head', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+m');
    await page.getByText('Mute or turn down the amplifier').waitFor();
    await logSomething(page);
    expect(await coveredWords(page)).toEqual([]);
  });

  it('move when another screen comes under them', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+s');
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    await expect.poll(() => coveredWords(page)).toEqual([]);
    expect(await button(page, 'Dismiss message').count()).toBeGreaterThan(0);
  });

  it('are three at a time, with the earlier ones behind a button', async () => {
    const { page } = program;
    await link(page, EVERYDAY).first().click();
    await page.getByRole('heading', { level: 1, name: EVERYDAY }).waitFor();
    for (let i = 0; i < 4; i++) await logSomething(page);
    const shown = page.getByRole('button', { name: 'Dismiss message' });
    expect(await shown.count()).toBe(3);
    await button(page, /^\d earlier messages?$/).click();
    expect(await shown.count()).toBeGreaterThan(3);
    await page.keyboard.press('Alt+l');
    const form = dialog(page, 'Log playing time');
    await form.waitFor();
    // The dialog is as much lower, and covers none of them.
    const last = form.locator('.toast').last();
    await expect
      .poll(async () => {
        const [head, toast] = await Promise.all([
          form.locator('.dialog-head').boundingBox(),
          last.boundingBox(),
        ]);
        return head !== null && toast !== null && toast.y >= 0 && toast.y + toast.height <= head.y;
      })
      .toBe(true);
    expect(await form.getByRole('button', { name: 'Dismiss message' }).count()).toBeGreaterThan(0);
    expect(program.troubles).toEqual([]);
  });
});
