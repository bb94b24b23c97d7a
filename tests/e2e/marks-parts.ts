import type { Locator, Page } from 'playwright-core';
import { expect } from 'vitest';
import { bentCantilever, chippedPair, type BentFile, type PairFiles } from './pictures.ts';
import { addPictures, newStylus, workedPair } from './set-ups.ts';

/** What the stories of marks share: a stylus with a chip in its later picture, and a bent cantilever from the side. */
export const NAME = 'Third stylus';
export const BEND_DEG = 6;

export type Pictures = { readonly pair: PairFiles; readonly bent: BentFile };

export async function startWith(page: Page, { pair, bent }: Pictures): Promise<void> {
  await newStylus(page, NAME);
  await addPictures(page, [
    ...workedPair(pair),
    [bent.file, { view: 'side', light: 'backlit', day: '2024-07-02', umPerPx: bent.umPerPx }],
  ]);
}

export const marks = (page: Page): Locator => page.getByRole('list', { name: 'Marks of this view' });
export const stage = (page: Page): Locator => page.locator('.stage-focus');

/** Where a pixel of the picture stands in the window while the whole picture is shown. */
export async function inWindow(
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
export function bendOf(text: string): { value: number; expanded: number } {
  const found = /([\d.]+)\s±\s([\d.]+)/.exec(text.replaceAll('\u00a0', ' '));
  if (found === null) throw new Error(`bendOf: no value with uncertainty in "${text}"`);
  return { value: Number(found[1]), expanded: Number(found[2]) };
}

export async function expectBend(page: Page): Promise<void> {
  const row = marks(page).getByRole('listitem').filter({ hasText: 'Bent cantilever' });
  await row.waitFor();
  const { value, expanded } = bendOf(await row.innerText());
  expect(Math.abs(value - BEND_DEG)).toBeLessThan(1.2);
  expect(expanded).toBeGreaterThan(0.1);
  expect(expanded).toBeLessThan(3);
}

export async function markPictures(): Promise<Pictures> {
  const [pair, bent] = await Promise.all([chippedPair(81), bentCantilever(5, BEND_DEG)]);
  return { pair, bent };
}
