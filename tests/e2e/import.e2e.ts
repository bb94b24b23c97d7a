import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { button, clickAtOnce, dialog, expectAccessible } from './parts.ts';
import { wornPair, type PairFiles } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { allRead, newStylus } from './set-ups.ts';
import { slideFile } from './scale-pictures.ts';
import { endAtFirstFailure } from './story.ts';

/** A whole folder through one table: kinds of files, guesses, duplicates, a slide, stopping and cancelling. */
describe('a folder of pictures, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  let pair: PairFiles;
  const folder = mkdtempSync(join(tmpdir(), 'daybook-folder-'));

  beforeAll(async () => {
    const [opened, rendered, slide] = await Promise.all([
      openProgram('browser window'),
      wornPair(73),
      slideFile(32, -20),
    ]);
    program = opened;
    pair = rendered;
    const inside = join(folder, 'Folder stylus');
    mkdirSync(inside);
    const base = sharp(pair.later.buffer);
    const write = (name: string, bytes: Uint8Array): void => writeFileSync(join(inside, name), bytes);
    write('2024-01-06 front backlit.png', pair.baseline.buffer);
    write('IMG_20240707_101500.jpg', await base.clone().jpeg({ progressive: true }).toBuffer());
    write('copy of the first.png', pair.baseline.buffer);
    write('b16.png', await base.clone().toColourspace('rgb16').png().toBuffer());
    write('cmyk.jpg', await base.clone().toColourspace('cmyk').jpeg().toBuffer());
    write('turned.jpg', await base.clone().rotate(90).withMetadata({ orientation: 6 }).jpeg().toBuffer());
    write('stage.png', slide.buffer);
    write('cut.png', pair.later.buffer.subarray(0, 4000));
    write('notes.txt', Buffer.from('cleaned with the brush'));
    write('Thumbs.db', Buffer.from([0xd0, 0xcf, 0x11, 0xe0]));
  });
  afterAll(async () => {
    await program?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const row = (name: string) =>
    dialog(program.page, 'Add pictures').locator('.intake-row', {
      has: program.page.locator('.intake-name', { hasText: name }),
    });
  const waiting = (): string[] => readdirSync(join(program.collection, 'incoming'));

  it('is read file by file, and what is no picture is passed over with its name', async () => {
    const { page } = program;
    await newStylus(page, 'Folder stylus');
    await page.getByRole('link', { name: 'Stylus Daybook' }).click();
    // Opened on the stylus's own screen, the dialog would have that stylus fixed instead of guessed.
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    await page.keyboard.press('Alt+i');
    const form = dialog(page, 'Add pictures');
    await form.getByLabel('Folder of pictures').setInputFiles(folder);
    await allRead(form, 7);
    await form.getByText('2 files of the folder are no pictures').waitFor();
    expect(await row('cut.png').locator('.field-error').innerText()).toMatch(/cut short|damaged/);
    expect(waiting()).toHaveLength(7);
  });

  it('guesses stylus, view and light and marks them as guesses, keeps dates with their source', async () => {
    const { page } = program;
    const named = row('2024-01-06 front backlit.png');
    expect(
      await named.getByLabel(/^Stylus:/).evaluate((e: HTMLSelectElement) => e.selectedOptions[0].text),
    ).toBe('Folder stylus');
    expect(await named.getByLabel(/^View:/).inputValue()).toBe('front');
    expect(await named.getByLabel(/^Light:/).inputValue()).toBe('backlit');
    expect(await named.locator('.guess-line').innerText()).toMatch(/stylus.*file’s name.*view.*light/);
    expect(await named.locator('.guess-mark').count()).toBe(3);
    expect(await named.getByLabel(/^Taken on:/).inputValue()).toBe('2024-01-06');
    expect(await named.innerText()).toContain('from the file name');
    const looked = row('IMG_20240707_101500.jpg');
    expect(await looked.getByLabel(/^View:/).inputValue()).toBe('front');
    expect(await looked.innerText()).toMatch(/time zone unknown/);
    expect(await row('cmyk.jpg').innerText()).toMatch(/printing colours/);
    await expectAccessible(page, 'the table of files');
  });

  it('turns upright what the camera turned, and shows every file small', async () => {
    const sizes = async (name: string): Promise<string> =>
      (await row(name).locator('.intake-name').innerText()).split('\n')[1];
    expect(await sizes('turned.jpg')).toContain(await sizes('b16.png').then((text) => text.split(' px')[0]));
    expect(await row('b16.png').locator('.intake-picture img').count()).toBe(1);
  });

  it('leaves a picture out that comes twice, and a ruled slide, and says why', async () => {
    const { page } = program;
    const form = dialog(page, 'Add pictures');
    const twins = form.locator('.intake-out');
    await expect.poll(() => twins.count()).toBe(2);
    await row('copy of the first.png')
      .getByText('The same picture as “2024-01-06 front backlit.png” further up.')
      .waitFor();
    const slide = row('stage.png');
    await slide.getByText('This looks like a ruled slide').waitFor();
    await button(slide, /^Make a scale card of it/).click();
    const card = dialog(page, 'New scale card');
    await button(card, 'Find the lines').click();
    await card.getByLabel('Found on the slide').waitFor({ timeout: 60_000 });
    await card.getByLabel('Microscope').fill('Folder scope');
    await card.getByLabel('Date unknown').check();
    await button(card, 'Keep the card').click();
    await card.waitFor({ state: 'detached' });
    await slide.waitFor({ state: 'detached' });
    await expect.poll(() => form.locator('.intake-ready').count()).toBe(6);
  });

  it('asks before guesses go in, answers many at once, and adds all together', async () => {
    const { page } = program;
    const form = dialog(page, 'Add pictures');
    const before = readdirSync(join(program.collection, 'originals')).length;
    await button(form, 'Add 5 pictures').click();
    await form
      .getByRole('alert')
      .filter({ hasText: /still have questions/ })
      .waitFor();
    for (const name of ['b16.png', 'cmyk.jpg', 'turned.jpg'])
      await row(name)
        .getByLabel(/^Taken on:/)
        .fill('2024-08-01');
    await form.getByRole('alert').waitFor();
    await button(form, 'Add 5 pictures').click();
    await form
      .getByRole('alert')
      .filter({ hasText: /guesses that nobody has confirmed/ })
      .waitFor();
    await form.getByLabel('Light for them').selectOption('backlit');
    await button(form, /guess(es are| is) right$/).click();
    await expect.poll(() => form.locator('.guess-mark').count()).toBe(0);
    await button(form, 'Add 5 pictures').click();
    await form.waitFor({ state: 'detached', timeout: 30_000 });
    await page.getByRole('heading', { level: 1, name: 'Folder stylus' }).waitFor();
    await expect.poll(() => page.locator('.strip-item').count()).toBe(5);
    expect(await page.locator('.strip-item').getByText('baseline', { exact: true }).count()).toBe(1);
    expect(readdirSync(join(program.collection, 'originals')).length - before).toBe(5);
  });

  it('takes all of them back in one step', async () => {
    const { page } = program;
    await button(page.locator('.toast', { hasText: '5 pictures added' }), 'Undo').click();
    await expect.poll(() => page.locator('.strip-item').count()).toBe(0);
    // Pictures that were left out were withdrawn by calls of their own, a moment after the others came in.
    await expect.poll(waiting, { timeout: 20_000 }).toEqual([]);
  });

  it('stops reading at once, and cancelling leaves nothing behind', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+i');
    const form = dialog(page, 'Add pictures');
    const many = await Promise.all(
      Array.from({ length: 40 }, async (_, i) => ({
        name: `m${i}.png`,
        mimeType: 'image/png',
        buffer: await sharp({
          create: { width: 900, height: 700, channels: 3, background: { r: i, g: 90, b: 90 } },
        })
          .png()
          .toBuffer(),
      })),
    );
    await form.getByLabel('Picture files').setInputFiles(many);
    await clickAtOnce(
      page,
      '.dialog:has(.intake-ready ~ .intake-ready ~ .intake-ready) .dialog-foot progress ~ .button',
    );
    await form.getByRole('progressbar', { name: 'Reading' }).waitFor({ state: 'detached' });
    const read = await form.locator('.intake-row').count();
    expect(read).toBeGreaterThanOrEqual(3);
    expect(read).toBeLessThan(40);
    expect(waiting()).toHaveLength(read);
    await button(form, 'Cancel').click();
    await form.waitFor({ state: 'detached' });
    await expect.poll(waiting, { timeout: 10_000 }).toEqual([]);
    expect(await page.locator('.strip-item').count()).toBe(0);
    expect(program.troubles).toEqual([]);
  });
});
