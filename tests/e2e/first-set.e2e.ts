import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { encodeCapture } from '../../fixtures/render/encode.ts';
import { randomCantilever } from '../../fixtures/render/cantilever-random.ts';
import { randomFrontSpecs } from '../../fixtures/render/front-random.ts';
import { renderFront } from '../../fixtures/render/front.ts';
import { button, dialog, expectAccessible, link } from './parts.ts';
import type { PictureFile } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { endAtFirstFailure } from './story.ts';

/** The guided set of a new stylus, a skipped step taken up later, and a pair before and after cleaning. */
describe('the first set of pictures, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  let clean: PictureFile & { umPerPx: number };
  let dirty: PictureFile;
  let still: PictureFile;
  let arm: PictureFile & { umPerPx: number };

  beforeAll(async () => {
    const file = async (
      name: string,
      rendered: Parameters<typeof encodeCapture>[0],
    ): Promise<PictureFile> => ({
      name,
      mimeType: 'image/png',
      buffer: Buffer.from(await encodeCapture(rendered)),
    });
    const flats = { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 0, laterRightUm: 0 };
    const { baseline, later } = randomFrontSpecs(41, { easy: true, residue: true, flats });
    const below = randomCantilever(61, { view: 'below', light: 'backlit', bendDeg: 0, diamond: 'present' });
    const opening = openProgram('browser window');
    clean = { ...(await file('new front.png', renderFront(baseline))), umPerPx: baseline.umPerPx };
    dirty = await file('dirty.png', renderFront(later));
    still = await file('cleaned.png', renderFront({ ...later, seed: later.seed + 1000 }));
    arm = { ...(await file('arm below.png', below)), umPerPx: below.truth.umPerPx };
    program = await opening;
  });
  afterAll(async () => {
    await program?.close();
  });

  it('shows how to hold part and light, with the cautions of this step', async () => {
    const { page } = program;
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    await page.keyboard.press('Alt+n');
    await dialog(page, 'New stylus').getByLabel('Name').fill('Fresh one');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: 'Fresh one' }).waitFor();
    await link(page, 'First set of pictures').click();
    await page.getByRole('heading', { level: 1, name: 'First set of pictures' }).waitFor();
    await page.getByRole('heading', { level: 2, name: 'Front' }).waitFor();
    await page.getByRole('img', { name: /along the groove/ }).waitFor();
    await page.getByText('barrel must not touch the cantilever').waitFor();
    expect(await page.getByLabel('Steps').getByText('open').count()).toBe(4);
    await expectAccessible(page, 'the first set');
  });

  it('takes a file for the step, looks at it at once and says what it is good for', async () => {
    const { page } = program;
    await page.getByLabel('Choose the picture: front, file').setInputFiles(clean);
    await page.getByLabel('Taken on').fill('2024-01-06');
    await page.getByLabel('Scale', { exact: true }).selectOption('typed');
    await page.getByLabel('Micrometres per pixel').fill(String(clean.umPerPx));
    await button(page, 'Add it and look').click();
    const verdict = page.locator('.step-verdict');
    await verdict.getByText(/could show a flat of \d/).waitFor({ timeout: 60_000 });
    expect((await verdict.innerText()).replaceAll('\u00a0', ' ')).toMatch(
      /^Good\. .*a flat of [\d.]+ µm or more/m,
    );
    expect(await page.getByLabel('Steps').getByText('there').count()).toBe(1);
    await expectAccessible(page, 'a step with its verdict');
  });

  it('skips steps, and finds the skipped one again', async () => {
    const { page } = program;
    await button(page, 'Next step').click();
    await page.getByRole('heading', { level: 2, name: 'Side' }).waitFor();
    await button(page, 'Skip for now').click();
    await page.getByRole('heading', { level: 2, name: 'End-on' }).waitFor();
    await page.getByText('sharp and small enough to be swallowed').waitFor();
    await button(page, 'Skip for now').click();
    await page.getByLabel('Choose the picture: cantilever from below, file').setInputFiles(arm);
    await page.getByLabel('Taken on').fill('2024-01-06');
    await page.getByLabel('Scale', { exact: true }).selectOption('typed');
    await page.getByLabel('Micrometres per pixel').fill(String(arm.umPerPx));
    await button(page, 'Add it and look').click();
    await page
      .locator('.step-verdict')
      .getByText(/could show a change of [\d.]+°/)
      .waitFor({ timeout: 60_000 });
    await link(page, 'To the stylus').click();
    await page.getByRole('heading', { level: 1, name: 'Fresh one' }).waitFor();
    expect(await page.locator('.strip-item').count()).toBe(2);
    await button(page, 'More').click();
    await page.getByRole('menuitem', { name: /First set of pictures/ }).click();
    // The first step that is still open is the one that was skipped.
    await page.getByRole('heading', { level: 2, name: 'Side' }).waitFor();
    await page.reload();
    await page.getByRole('heading', { level: 2, name: 'Side' }).waitFor();
  });

  it('compares before and after cleaning, and keeps "stays after cleaning" as a finding', async () => {
    const { page } = program;
    await link(page, 'Fresh one').click();
    await page.keyboard.press('Alt+i');
    const form = dialog(page, 'Add pictures');
    await form.getByLabel('Picture files').setInputFiles([dirty, still]);
    await expect.poll(() => form.locator('.intake-ready').count(), { timeout: 30_000 }).toBe(2);
    const days: Record<string, string> = { 'dirty.png': '2024-06-01', 'cleaned.png': '2024-06-02' };
    for (const [name, day] of Object.entries(days)) {
      const row = form.locator('.intake-row', { has: page.locator('.intake-name', { hasText: name }) });
      await row.getByLabel(/^Taken on:/).fill(day);
      await row.getByLabel(/^View:/).selectOption('front');
      await row.getByLabel('Scale', { exact: true }).selectOption('typed');
      await row.getByLabel('Micrometres per pixel').fill(String(clean.umPerPx));
    }
    const right = button(form, /guess(es are| is) right$/);
    if ((await right.count()) > 0) await right.click();
    await button(form, 'Add 2 pictures').click();
    await form.waitFor({ state: 'detached' });
    await button(page, 'Before and after cleaning').click();
    const pair = dialog(page, 'Before and after cleaning');
    await pair.getByText('Brush from the root of the cantilever').waitFor();
    await button(pair, 'Compare the two').click();
    const said = pair.getByLabel('What the pair says');
    await said.waitFor({ timeout: 90_000 });
    expect(await said.innerText()).toMatch(/Residue stays after cleaning/);
    await expectAccessible(page, 'a pair before and after cleaning');
    await button(pair, 'Put it on the timeline').click();
    await pair.waitFor({ state: 'detached' });
    const row = page.locator('.timeline-cleaning');
    expect(await row.innerText()).toMatch(/Residue stays after cleaning/);
    expect(program.troubles).toEqual([]);
  });
});
