import { AxeBuilder } from '@axe-core/playwright';
import type { Locator, Page } from 'playwright-core';
import { expect } from 'vitest';

/** Small things that every story does. Everything is found as a person finds it: by role, label and words. */
export const button = (page: Page | Locator, name: string | RegExp): Locator =>
  page.getByRole('button', { name, exact: typeof name === 'string' });
export const link = (page: Page | Locator, name: string | RegExp): Locator =>
  page.getByRole('link', { name, exact: typeof name === 'string' });
export const dialog = (page: Page, name: string | RegExp): Locator => page.getByRole('dialog', { name });

/** WCAG 2.2 AA as far as a machine can judge it, target size included. */
export async function expectAccessible(page: Page, where: string): Promise<void> {
  const found = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'])
    // The preview is a document of its own in a sandbox; the sheet has its own tests.
    .exclude('iframe')
    .analyze();
  const said = found.violations.map(({ id, nodes }) => {
    const where = nodes.map(
      (node) => `${node.target.join(' ')} (${node.any[0]?.message ?? 'no reason given'})`,
    );
    return `${id}: ${where.join(', ')}`;
  });
  expect(said, `axe on ${where}`).toEqual([]);
}

/** "9.49 ± 0.55 µm" as two numbers, no-break spaces and minus sign included. */
export function readMeasured(text: string): { value: number; expanded: number } {
  const plain = text.replaceAll('\u00a0', ' ').replaceAll('\u202f', '').replaceAll('\u2212', '-');
  const found = /^(-?[\d.]+) ± ([\d.]+) µm/.exec(plain);
  if (found === null) throw new Error(`readMeasured: "${text}" is no value with uncertainty in µm`);
  return { value: Number(found[1]), expanded: Number(found[2]) };
}

/** A panel of the bench's wall: what it says of one side. */
export async function wallValue(page: Page, wall: 'Left wall' | 'Right wall'): Promise<string> {
  const part = page.locator('.side-flat', { has: page.getByRole('heading', { name: wall }) });
  return (await part.locator('.big-value').innerText()).trim();
}

/** What a person hears of the thing that has the focus. */
export const focused = (page: Page): Promise<string> =>
  page.evaluate(() => {
    const { activeElement: element } = document;
    return (element?.getAttribute('aria-label') ?? element?.textContent ?? '').trim();
  });

/** More Tabs than anybody would press; what is not reached by then is not reached by keys. */
const MOST_TABS = 90;

/** Tab until the focus is on what has this name. */
export async function tabTo(page: Page, name: RegExp): Promise<void> {
  const seen: string[] = [];
  for (let i = 0; i < MOST_TABS; i++) {
    const said = await focused(page);
    if (name.test(said)) return;
    seen.push(said.slice(0, 40));
    await page.keyboard.press('Tab');
  }
  throw new Error(`tabTo: nothing named ${String(name)} was reached, but ${seen.join(' | ')}`);
}

export async function times(page: Page, key: string, count: number): Promise<void> {
  for (let i = 0; i < count; i++) await page.keyboard.press(key);
}

/**
 * Arrow keys for so many screen pixels to the right and down, in tens and ones. Alone an arrow is a step of ten for the
 * crosshair, and with Shift for a picture that is pushed.
 */
export async function steer(page: Page, dx: number, dy: number, tens: '' | 'Shift+' = ''): Promise<void> {
  const ones = tens === '' ? 'Shift+' : '';
  for (const [by, plus, minus] of [
    [Math.round(dx), 'ArrowRight', 'ArrowLeft'],
    [Math.round(dy), 'ArrowDown', 'ArrowUp'],
  ] as const) {
    const key = by > 0 ? plus : minus;
    await times(page, tens + key, Math.floor(Math.abs(by) / 10));
    await times(page, ones + key, Math.abs(by) % 10);
  }
}

/** Until what is typed goes there; a dialog is on the screen a moment before its field has the focus. */
export async function hasFocus(field: Locator): Promise<void> {
  await expect.poll(() => field.evaluate((element) => element === document.activeElement)).toBe(true);
}

/** A command by its words, from the key that opens the list to the moment at which the list is gone. */
export async function command(page: Page, words: string): Promise<void> {
  await page.keyboard.press('Control+k');
  const list = dialog(page, 'Command list');
  await hasFocus(list.getByRole('combobox'));
  await page.keyboard.type(words);
  await page.keyboard.press('Enter');
  await list.waitFor({ state: 'detached' });
}

/** Clicks what the selector finds as soon as it is there: by script, so that the hand is faster than the machine. */
export async function clickAtOnce(page: Page, selector: string): Promise<void> {
  await page.waitForFunction((wanted) => {
    const found = document.querySelector<HTMLElement>(wanted);
    found?.click();
    return found !== null;
  }, selector);
}

/** Until something brighter than the empty stage is on it: by then the picture has its place. */
export async function pictureShown(page: Page): Promise<void> {
  const light = (): Promise<number> =>
    page.locator('.stage-canvas').evaluate((canvas) => {
      const probe = new OffscreenCanvas(8, 8).getContext('2d', { willReadFrequently: true })!;
      probe.drawImage(canvas as HTMLCanvasElement, 0, 0, 8, 8);
      return probe.getImageData(0, 0, 8, 8).data.reduce((sum, value) => sum + value, 0);
    });
  // 64 opaque black pixels come to 16,320.
  await expect.poll(light, { timeout: 30_000 }).toBeGreaterThan(18_000);
}
