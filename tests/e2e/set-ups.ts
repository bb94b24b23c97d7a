import type { Locator, Page } from 'playwright-core';
import { expect } from 'vitest';
import type { Capture, View } from '../../shared/index.ts';
import { button, dialog } from './parts.ts';
import type { PairFiles, PictureFile } from './pictures.ts';

/**
 * How stories begin: a stylus, and pictures with what is known about them. `main-job.e2e.ts` spells the same out step by
 * step; what a story is about it spells out itself.
 */
export async function newStylus(
  page: Page,
  name: string,
  facts: Readonly<Record<string, string>> = {},
): Promise<void> {
  await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
  await page.keyboard.press('Alt+n');
  const form = dialog(page, 'New stylus');
  for (const [label, value] of Object.entries(facts)) await form.getByLabel(label).fill(value);
  await form.getByLabel('Name').fill(name);
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { level: 1, name }).waitFor();
}

/** What a person answers about a picture; what is left out stays as the dialog has it. */
export type Known = {
  readonly view?: View;
  readonly light?: Capture['light'];
  readonly day?: string;
  /** Micrometres per pixel, typed in. */
  readonly umPerPx?: number;
  readonly microscope?: string;
};

export async function answer(row: Locator, { view, light, day, umPerPx, microscope }: Known): Promise<void> {
  if (view !== undefined) await row.getByLabel(/^View:/).selectOption(view);
  if (light !== undefined) await row.getByLabel(/^Light:/).selectOption(light);
  if (day !== undefined) await row.getByLabel(/^Taken on:/).fill(day);
  if (microscope !== undefined) await row.getByLabel(/^Microscope/).fill(microscope);
  if (umPerPx === undefined) return;
  await row.getByLabel('Scale', { exact: true }).selectOption('typed');
  await row.getByLabel('Micrometres per pixel').fill(String(umPerPx));
}

/** The pair that most stories look at: half a year apart, its scales known from the renderer. */
export const workedPair = ({ baseline, later, truth }: PairFiles): [PictureFile, Known][] => [
  [baseline, { view: 'front', light: 'backlit', day: '2024-01-06', umPerPx: truth.baseline.umPerPx }],
  [later, { view: 'front', light: 'backlit', day: '2024-07-01', umPerPx: truth.later.umPerPx }],
];

/** Until the dialog has read everything and `pictures` of the files are some. */
export async function allRead(form: Locator, pictures: number): Promise<void> {
  await expect.poll(() => form.locator('.intake-ready').count(), { timeout: 60_000 }).toBe(pictures);
  await form.locator('.dialog-foot progress').waitFor({ state: 'detached' });
}

/** Gives files to the dialog, which is open or about to be, and waits until it has read them. */
export async function chooseFiles(
  page: Page,
  files: readonly PictureFile[],
  pictures = files.length,
): Promise<Locator> {
  const form = dialog(page, 'Add pictures');
  await form
    .getByLabel('Picture files')
    .setInputFiles(files.map(({ name, mimeType, buffer }) => ({ name, mimeType, buffer })));
  await allRead(form, pictures);
  return form;
}

/** Says that the guesses are right, where there are some, adds that many pictures and waits until they are in. */
export async function addToDaybook(form: Locator, pictures: number): Promise<void> {
  const right = button(form, /guess(es are| is) right$/);
  if ((await right.count()) > 0) await right.click();
  await button(form, pictures === 1 ? 'Add picture' : `Add ${pictures} pictures`).click();
  await form.waitFor({ state: 'detached' });
}

/** Pictures of the stylus whose page is open, from the key that opens the dialog to the strip that shows them. */
export async function addPictures(
  page: Page,
  pictures: readonly (readonly [PictureFile, Known])[],
): Promise<void> {
  await page.keyboard.press('Alt+i');
  const form = await chooseFiles(
    page,
    pictures.map(([file]) => file),
  );
  for (const [index, row] of (await form.locator('.intake-ready').all()).entries())
    await answer(row, pictures[index][1]);
  await addToDaybook(form, pictures.length);
  await page
    .locator('.strip-item')
    .nth(pictures.length - 1)
    .waitFor();
}
