import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { randomCantilever } from '../../fixtures/render/cantilever-random.ts';
import { randomFrontSpecs } from '../../fixtures/render/front-random.ts';
import { renderFront } from '../../fixtures/render/front.ts';
import { button, dialog, expectAccessible, link } from './parts.ts';
import { asFile, type PictureFile } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { addPictures, newStylus } from './set-ups.ts';
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
    const flats = { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 0, laterRightUm: 0 };
    const { baseline, later } = randomFrontSpecs(41, { easy: true, residue: true, flats });
    const below = randomCantilever(61, { view: 'below', light: 'backlit', bendDeg: 0, diamond: 'present' });
    const opening = openProgram('browser window');
    clean = { ...(await asFile('new front', renderFront(baseline))), umPerPx: baseline.umPerPx };
    dirty = await asFile('dirty', renderFront(later));
    still = await asFile('cleaned', renderFront({ ...later, seed: later.seed + 1000 }));
    arm = { ...(await asFile('arm below', below)), umPerPx: below.truth.umPerPx };
    program = await opening;
  });
  afterAll(async () => {
    await program?.close();
  });

  it('shows how to hold part and light, with the cautions of this step', async () => {
    const { page } = program;
    await newStylus(page, 'Fresh one');
    await link(page, 'First set of pictures').click();
    await page.getByRole('heading', { level: 1, name: 'First set of pictures' }).waitFor();
    await page.getByRole('heading', { level: 2, name: 'Front' }).waitFor();
    await page.getByRole('img', { name: /along the groove/ }).waitFor();
    await page.getByText('barrel must not touch the cantilever').waitFor();
    await expect.poll(() => page.getByLabel('Steps').getByText('open').count()).toBe(4);
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
    await expect.poll(() => page.getByLabel('Steps').getByText('there').count()).toBe(1);
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
    await expect.poll(() => page.locator('.strip-item').count()).toBe(2);
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
    await page.getByRole('heading', { level: 1, name: 'Fresh one' }).waitFor();
    const { umPerPx } = clean;
    await addPictures(page, [
      [dirty, { view: 'front', day: '2024-06-01', umPerPx }],
      [still, { view: 'front', day: '2024-06-02', umPerPx }],
    ]);
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
