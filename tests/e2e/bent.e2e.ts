import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { notRun } from '../not-run.ts';
import { inWindow } from './marks-parts.ts';
import { button, expectAccessible, link, pictureShown } from './parts.ts';
import { bentCantilever, type BentFile } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { addToDaybook, answer, chooseFiles, newStylus } from './set-ups.ts';
import { endAtFirstFailure } from './story.ts';

/** A bend that the program measured, carried by one click into the advice, onto the shelf and onto the paper. */
const NAME = 'Knocked in the cloth';
const BEND_DEG = 6;
const plain = (text: string): string => text.replaceAll(/[\u00a0\u202f]/g, ' ').replaceAll(/\s+/g, ' ');

/** The text of a PDF as another program reads it; null where that program is not installed. */
function pdfText(path: string): string | null {
  try {
    return execFileSync('pdftotext', [path, '-'], { encoding: 'utf8' });
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
    notRun('The text of the printed sheet', 'pdftotext is not installed; the preview was read instead');
    return null;
  }
}

describe('a bent cantilever, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  let bent: BentFile;
  let folder: string;
  let measured: string;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'daybook-bent-'));
    [program, bent] = await Promise.all([openProgram('browser window'), bentCantilever(5, BEND_DEG)]);
  });
  afterAll(async () => {
    await program?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  it('comes in as a picture from the side', async () => {
    const { page } = program;
    await newStylus(page, NAME);
    await page.keyboard.press('Alt+i');
    const form = await chooseFiles(page, [bent.file]);
    await answer(form, { view: 'side', umPerPx: bent.umPerPx });
    // Without a day there is a question, and its answer stands beside it.
    await button(form, 'Add picture').click();
    await form.getByText('When was it taken?').waitFor();
    await button(form, /^It is unknown/).click();
    await form.getByText('said to be unknown').waitFor();
    await answer(form, { day: '2024-07-02' });
    await addToDaybook(form, 1);
    await expect.poll(() => page.locator('.strip-item').count()).toBe(1);
  });

  it('is measured and put as a question', async () => {
    const { page } = program;
    await page.locator('.strip-link').first().click();
    await button(page, 'Measure the cantilever').click();
    const asked = page.getByRole('list', { name: 'Suspected by the program' });
    await asked.waitFor({ timeout: 60_000 });
    const found = /\(([\d.]+) ± ([\d.]+)\)°/.exec(plain(await asked.innerText()));
    expect(found).not.toBeNull();
    [measured] = found!;
    expect(Math.abs(Number(found![1]) - BEND_DEG)).toBeLessThan(0.3);
    // Nothing ends playing before somebody has looked.
    await link(page, NAME).first().click();
    const advice = page.getByRole('region', { name: 'Advice' });
    await advice.getByText('A bent cantilever is suspected.').first().waitFor();
    expect(await page.locator('.verdict').innerText()).toMatch(/^Look again before playing\./);
  });

  it('has its skew told against a line that is drawn on the picture, and typed over', async () => {
    const { page } = program;
    await page.locator('.strip-link').first().click();
    await pictureShown(page);
    await page.getByText('Skew against a line').click();
    await button(page, 'Set the line on the picture').click();
    await page.getByText(/^Set one end of the line/).waitFor();
    const [from, to] = await Promise.all([
      inWindow(page, bent.size, bent.axisPx[0]),
      inWindow(page, bent.size, bent.axisPx[1]),
    ]);
    await page.mouse.move(from.x, from.y);
    await page.mouse.down();
    await page.mouse.move(to.x, to.y, { steps: 5 });
    await page.mouse.up();
    const skew = page.locator('.numbers div', { hasText: 'Skew at the root' });
    await skew.waitFor({ timeout: 60_000 });
    // The line was drawn along the axis at the root.
    const told = /(-?[\d.]+) ± ([\d.]+)/.exec(plain(await skew.innerText()).replaceAll('−', '-'));
    expect(told).not.toBeNull();
    expect(Math.abs(Number(told![1]))).toBeLessThan(1);
    const field = page.getByLabel('The line: its angle, or two places');
    expect(await field.inputValue()).toMatch(/^[\d.]+ [\d.]+ [\d.]+ [\d.]+$/);
    await expectAccessible(page, 'a picture with the line of a skew');
    // Against level it is the direction in which the picture shows the root: 8 degrees.
    await field.fill('0');
    await button(page, 'Measure the skew').click();
    await expect
      .poll(async () => plain(await skew.innerText()), { timeout: 60_000 })
      .toMatch(/\(?8\.\d* ± 0\.\d+\)?°|\(7\.9\d* ± 0\.\d+\)°/);
    await link(page, NAME).first().click();
  });

  it('ends playing once it is confirmed: in the advice, at the head of the page and on the shelf', async () => {
    const { page } = program;
    await page.locator('.strip-link').first().click();
    await button(page, /^Confirm: bent cantilever/i).click();
    await page
      .getByRole('list', { name: 'Marks of this view' })
      .getByText('1. Bent cantilever, confirmed')
      .waitFor();
    await link(page, NAME).first().click();
    const advice = page.getByRole('region', { name: 'Advice' });
    await advice.getByText('You confirmed a bent cantilever: playing ends here.').first().waitFor();
    const verdict = page.locator('.verdict');
    await expect
      .poll(() => verdict.innerText())
      .toMatch(/^Take it off now\. Played on, it may damage records/);
    await expectAccessible(page, 'the stylus page with a verdict');
    await button(page, /^Why/).click();
    expect(await page.evaluate(() => document.activeElement?.id)).toBe('advice');
    expect(plain(await page.locator('.timeline-mark').innerText())).toContain(`on the picture of 2 Jul 2024`);
    await link(page, 'Stylus Daybook').first().click();
    const card = page.locator('.card', { hasText: NAME });
    await card.getByText('Take it off now: bent cantilever confirmed').waitFor();
  });

  it('stands on the sheet with its angle, no longer as a question, and the paper says the same', async () => {
    const { page } = program;
    await link(page, new RegExp(`^${NAME}`))
      .first()
      .click();
    await link(page, 'Sheet').first().click();
    const sheet = page.frameLocator('iframe');
    await sheet.getByText('Advice: take it off now').waitFor();
    const text = plain(await sheet.locator('body').innerText());
    const expected = [
      'You confirmed a bent cantilever: playing ends here.',
      `A bent cantilever, ${measured}: confirmed by whoever looked.`,
      `confirmed, first suspected by the program ${measured} side`,
    ];
    for (const sentence of expected) expect(text).toContain(sentence);
    expect(text).not.toContain('Suspected: a bent cantilever');
    const saved = page.waitForEvent('download');
    await button(page, 'Save PDF').click();
    const path = join(folder, 'sheet.pdf');
    await (await saved).saveAs(path);
    const paper = plain(pdfText(path) ?? text);
    expect(paper).toContain('Advice: take it off now');
    expect(paper).toContain(measured);
    // Columns come in another order on paper, so the words are counted, not their places.
    const letters = (all: string): string[] =>
      all
        .replaceAll(/page \d+ of \d+/g, '')
        .replaceAll(/\s/g, '')
        .split('')
        .toSorted();
    expect(letters(paper)).toEqual(letters(text));
  }, 120_000);

  it('no longer ends playing when the confirmation is taken back', async () => {
    const { page } = program;
    await link(page, NAME).first().click();
    await page.getByRole('heading', { level: 1, name: NAME }).waitFor();
    await page.keyboard.press('Control+z');
    await expect.poll(() => page.locator('.verdict').innerText()).toMatch(/^Look again before playing\./);
    expect(program.troubles).toEqual([]);
  });
});
