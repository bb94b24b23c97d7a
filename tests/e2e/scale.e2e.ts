import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { button, dialog, expectAccessible } from './parts.ts';
import type { PictureFile } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { answer, chooseFiles, newStylus } from './set-ups.ts';
import { slideFile } from './scale-pictures.ts';
import { endAtFirstFailure } from './story.ts';

/** A scale card from a ruled slide, a picture that takes its scale from it, and one to which it does not belong. */
describe('scales, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  let slide: Awaited<ReturnType<typeof slideFile>>;
  let pictures: PictureFile[];

  beforeAll(async () => {
    const plain = async (width: number, height: number): Promise<PictureFile> => ({
      name: `tip-${width}.png`,
      mimeType: 'image/png',
      buffer: await sharp({ create: { width, height, channels: 3, background: '#b8b8b0' } })
        .png()
        .toBuffer(),
    });
    [program, slide, pictures] = await Promise.all([
      openProgram('browser window'),
      slideFile(31, 8),
      Promise.all([plain(1024, 768), plain(640, 480)]),
    ]);
  });
  afterAll(async () => {
    await program?.close();
  });

  it('refuses a picture without a ruling, with a sentence', async () => {
    const { page } = program;
    await page.getByRole('link', { name: 'Scale cards' }).click();
    await page.getByRole('heading', { level: 1, name: 'Scale cards' }).waitFor();
    await page.getByText('No card yet.').waitFor();
    await expectAccessible(page, 'the empty scale cards');
    await button(page, 'New scale card').click();
    const form = dialog(page, 'New scale card');
    await form.getByLabel('Choose the picture, file').setInputFiles(pictures[0]);
    await form.getByText('tip-1024.png').waitFor();
    await button(form, 'Find the lines').click();
    const refused = form.locator('.refused');
    await refused.waitFor({ timeout: 30_000 });
    expect(await refused.innerText()).toMatch(/No ruled lines were found/);
  });

  it('finds the lines of a slide, draws them, and tells every value in text', async () => {
    const { page } = program;
    const form = dialog(page, 'New scale card');
    await form.getByLabel('Choose another picture, file').setInputFiles(slide);
    await form.getByText(slide.name).waitFor();
    await form.getByLabel('From one line to the next').fill('100');
    await button(form, 'Find the lines').click();
    const facts = form.getByLabel('Found on the slide');
    await facts.waitFor({ timeout: 60_000 });
    const text = (await facts.innerText()).replaceAll('\u00a0', ' ');
    const found = /Scale\s+(\d+\.\d+) ± (\d+\.\d+) µm\/px/.exec(text);
    expect(found, text).not.toBeNull();
    const [value, expanded] = [Number(found![1]), Number(found![2])];
    expect(Math.abs(value - slide.umPerPx)).toBeLessThan(Math.max(expanded, 0.0005 * slide.umPerPx));
    expect(text).toMatch(/missing in between/);
    expect(text).toMatch(/Bend of the lines/);
    const drawn = form.locator('.slide-stage line');
    await expect.poll(() => drawn.count()).toBe(Number(/(\d+) found/.exec(text)![1]));
    // The text alone is not the proof: the lines lie in the picture where it is drawn.
    const stage = await form.locator('.slide-stage img').boundingBox();
    const line = await drawn.first().boundingBox();
    expect(line!.x).toBeGreaterThan(stage!.x - 2);
    expect(line!.y).toBeGreaterThan(stage!.y - 2);
    await expectAccessible(page, 'the scale card with a slide');
  });

  it('keeps the card with its picture, and finds it again after a reload', async () => {
    const { page } = program;
    const form = dialog(page, 'New scale card');
    await button(form, 'Keep the card').click();
    await form.getByText('Give the microscope a name').waitFor();
    await form.getByLabel('Microscope').fill('Bench microscope');
    await form.getByLabel('Zoom', { exact: true }).fill('3');
    await form.getByLabel('Taken on').fill('2024-02-03');
    await button(form, 'Keep the card').click();
    await form.waitFor({ state: 'detached' });
    const card = page.locator('.scale-card');
    await card.waitFor();
    await page.reload();
    await card.waitFor();
    expect(await card.innerText()).toMatch(/Bench microscope[\s\S]*µm\/px[\s\S]*zoom 3[\s\S]*ruled slide/);
    await card.locator('img').waitFor();
    await expectAccessible(page, 'the scale cards');
  });

  it('goes into the bin and comes back', async () => {
    const { page } = program;
    await button(page.locator('.scale-card'), /^Put into the bin/).click();
    await page.locator('.scale-card').waitFor({ state: 'detached' });
    expect(await page.locator('.scale-card').count()).toBe(0);
    await button(page, 'Undo').click();
    await page.locator('.scale-card').waitFor();
    expect(await page.locator('.scale-card').count()).toBe(1);
  });

  it('gives its scale to a picture that it belongs to, and is loud about one that it does not', async () => {
    const { page } = program;
    await page.getByRole('link', { name: 'Stylus Daybook' }).click();
    await newStylus(page, 'Card stylus');
    await page.keyboard.press('Alt+i');
    const form = await chooseFiles(page, pictures);
    const [fits, other] = await form.locator('.intake-ready').all();
    for (const row of [fits, other]) {
      await answer(row, { view: 'front', day: '2024-02-03', microscope: 'bench microscope' });
      await row.getByLabel('Scale', { exact: true }).selectOption('card');
    }
    const alarm = other.getByRole('alert');
    await alarm.waitFor();
    expect(await alarm.innerText()).toMatch(/does not belong to this picture: frame size \(card 1024 × 768/);
    await fits.getByLabel('Zoom of this picture').fill('4');
    await expect.poll(() => fits.getByRole('alert').innerText()).toMatch(/zoom \(card 3, picture 4\)/);
    await fits.getByLabel('Zoom of this picture').fill('3');
    await fits.getByRole('alert').waitFor({ state: 'detached' });
    await expectAccessible(page, 'the import with a card that does not belong');
    await button(form, 'Add 2 pictures').click();
    await form.getByText('2 pictures still have questions.').waitFor();
    await fits.getByLabel(/were not touched/).check();
    await other.getByLabel('Scale', { exact: true }).selectOption('none');
    await button(form, 'Add 2 pictures').click();
    await form.waitFor({ state: 'detached' });
    await expect.poll(() => page.locator('.strip-item').count()).toBe(2);
  });

  it('takes the scale away, with the reason, when the picture turns out to be from another microscope', async () => {
    const { page } = program;
    await button(page.locator('.strip-item', { hasNotText: 'no scale' }), /^Edit/).click();
    const form = dialog(page, /^Picture:/);
    await form.getByText(/Scale: .*µm\/px/).waitFor();
    await form.getByLabel('Microscope').fill('Another one');
    await button(form, 'Save').click();
    await form.waitFor({ state: 'detached' });
    const item = page.locator('.strip-item', { hasText: 'scale taken away' });
    await item.getByRole('link').first().click();
    const alarm = page.getByRole('alert').filter({ hasText: 'Bench microscope' });
    await alarm.waitFor();
    expect(await alarm.innerText()).toMatch(/does not belong to this picture/);
    await expectAccessible(page, 'a picture whose scale was taken away');
    expect(program.troubles).toEqual([]);
  });
});
