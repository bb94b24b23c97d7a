import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { button, clickAtOnce, dialog, hasFocus, link, wallValue } from './parts.ts';
import { wornPair, type PairFiles, type PictureFile } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { addToDaybook, answer, chooseFiles } from './set-ups.ts';
import { endAtFirstFailure } from './story.ts';

/** What the window does when there is no answer, no scale, no patience, no pointer, or a file that is none. */
describe('doubts, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  let pair: PairFiles;
  let field: PictureFile;

  beforeAll(async () => {
    const empty = sharp({ create: { width: 640, height: 480, channels: 3, background: '#b8b8b0' } });
    const [opened, rendered, buffer] = await Promise.all([
      openProgram('browser window', { reducedMotion: 'reduce', forcedColors: 'active' }),
      wornPair(72),
      empty.png().toBuffer(),
    ]);
    program = opened;
    pair = rendered;
    field = { name: 'nothing.png', mimeType: 'image/png', buffer };
  });
  afterAll(async () => {
    await program?.close();
  });

  it('starts a stylus by keyboard alone', async () => {
    const { page } = program;
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    await page.keyboard.press('Alt+n');
    await hasFocus(dialog(page, 'New stylus').getByLabel('Name'));
    await page.keyboard.type('Second stylus');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: 'Second stylus' }).waitFor();
    // The screen's heading has the focus, so that the next Tab goes on from there.
    await expect.poll(() => page.evaluate(() => document.activeElement?.tagName)).toBe('H1');
  });

  it('says which file is no picture and takes the others', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+i');
    const broken = { ...pair.baseline, name: 'broken.png', buffer: pair.baseline.buffer.subarray(0, 3000) };
    const form = await chooseFiles(page, [pair.baseline, broken, pair.later, field], 3);
    const refused = form.locator('.intake-refused');
    expect(await refused.count()).toBe(1);
    expect(await refused.innerText()).toMatch(/broken\.png[\s\S]+\./);
    await button(refused, /^Leave out/).click();
    const days = ['2024-01-06', '2024-07-01', '2024-08-01'];
    for (const [index, row] of (await form.locator('.intake-ready').all()).entries())
      await answer(row, { day: days[index] });
    // An empty field tells nothing: its view is asked for; the guesses about the others wait for a person.
    await button(form, 'Add 3 pictures').click();
    await form.getByText('3 pictures still have questions.').waitFor();
    await form.getByText('Which view is it?').waitFor();
    await form.getByLabel('View: nothing.png').selectOption('front');
    await addToDaybook(form, 3);
    await expect.poll(() => page.locator('.strip-item').count()).toBe(3);
  });

  it('knows a picture that is already there', async () => {
    const { page } = program;
    await button(page, 'Add pictures').first().click();
    const form = dialog(page, 'Add pictures');
    await form.getByLabel('Picture files').setInputFiles(pair.baseline);
    const notice = form.getByText('The same picture is already in the daybook');
    await notice.waitFor();
    expect(await notice.innerText()).toContain('Second stylus');
    await button(form, 'Cancel').click();
  });

  it('stops a measurement and leaves things as they were', async () => {
    const { page } = program;
    await page.locator('.strip-item').nth(1).getByRole('button', { name: 'Compare' }).click();
    await clickAtOnce(page, '.job button');
    await page.locator('.job').waitFor({ state: 'detached', timeout: 30_000 });
    expect(await page.locator('.big-value').count()).toBe(0);
    expect(await page.locator('.toast-problem').count()).toBe(0);
    await button(page, 'Measure this pair').waitFor();
  });

  it('measures without a scale in per cent of the shank, and shows no µm then', async () => {
    const { page } = program;
    await button(page, 'Measure this pair').click();
    await page.locator('.big-value').first().waitFor({ timeout: 60_000 });
    expect(await wallValue(page, 'Left wall')).toMatch(/% of shank/);
    await page.getByText('No scale is known, so everything counts in per cent').waitFor();
    await expect.poll(() => page.locator('.scale-bar').innerText()).toMatch(/% of shank/);
  });

  it('does not start the alternation for somebody who asked for less motion', async () => {
    const { page } = program;
    await page.getByRole('radio', { name: 'Taking turns' }).click();
    const start = button(page, 'Start');
    await start.waitFor();
    await expect.poll(() => page.locator('.stage-which').innerText()).toBe('baseline');
    await button(page, 'Show the later one').click();
    await expect.poll(() => page.locator('.stage-which').innerText()).toBe('later picture');
    expect(await start.isVisible()).toBe(true);
    await page.getByRole('radio', { name: 'Laid over' }).click();
  });

  it('moves the split edge by typed numbers', async () => {
    const { page } = program;
    await page.getByRole('radio', { name: 'Split' }).click();
    await page.getByLabel('Angle of the edge', { exact: true }).fill('-37,5');
    await page.getByLabel('Place of the edge', { exact: true }).fill('12');
    await expect.poll(() => page.getByLabel('Angle of the edge, slider').inputValue()).toBe('-37.5');
    await expect.poll(() => page.getByLabel('Place of the edge, slider').inputValue()).toBe('12');
  });

  it('refuses an empty field with a sentence and without a number', async () => {
    const { page } = program;
    await link(page, 'Second stylus').click();
    await page.locator('.strip-item').nth(2).getByRole('button', { name: 'Compare' }).click();
    const refused = page.locator('.bench-panel .refused');
    await refused.waitFor({ timeout: 60_000 });
    expect((await refused.locator('p').first().innerText()).length).toBeGreaterThan(30);
    expect(await page.locator('.big-value').count()).toBe(0);
    await page.getByText('Not registered').waitFor();
    await link(page, 'Second stylus').click();
    const row = page.locator('.timeline-comparison', { hasText: 'no answer' });
    await row.first().waitFor();
    expect(await row.count()).toBe(1);
  });

  it('keeps the place after a reload', async () => {
    const { page } = program;
    await page.reload();
    await page.getByRole('heading', { level: 1, name: 'Second stylus' }).waitFor();
    expect(page.url()).not.toContain('token');
    expect(program.troubles).toEqual([]);
  });
});
