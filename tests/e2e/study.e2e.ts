import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { randomFrontSpecs } from '../../fixtures/render/front-random.ts';
import { renderFront } from '../../fixtures/render/front.ts';
import { button, expectAccessible, link, readMeasured, wallValue } from './parts.ts';
import { asFile, type PictureFile } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { addPictures, newStylus, type Known } from './set-ups.ts';
import { endAtFirstFailure } from './story.ts';

/** A person's own repeatability: five placings of one known flat, what they say, and a comparison that counts it. */
const FLATS = { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 11, laterRightUm: 9 };
const TRUE_LEFT = FLATS.laterLeftUm;

describe('a repeatability study, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  let umPerPx: number;
  let baseline: PictureFile;
  /** The first is compared; the others are placings of the study. */
  let placings: PictureFile[];
  let before: { value: number; expanded: number };

  beforeAll(async () => {
    const opening = openProgram('browser window');
    const { baseline: fresh, later } = randomFrontSpecs(71, { easy: true, flats: FLATS });
    // Both at one setting of the microscope, as in one sitting.
    umPerPx = later.umPerPx;
    baseline = await asFile('new-tip', renderFront({ ...fresh, umPerPx }));
    placings = [];
    for (let k = 0; k < 7; k++) {
      const { pose } = later;
      const moved = {
        tipXPx: pose.tipXPx + 7.3 * ((k % 3) - 1),
        tipYPx: pose.tipYPx + 2.7 * ((k % 2) - 0.5),
        rotationDeg: pose.rotationDeg + 1.7 * (k - 3),
      };
      placings.push(
        await asFile(`placing-${k}`, renderFront({ ...later, seed: later.seed + 100 * k, pose: moved })),
      );
    }
    program = await opening;
  });
  afterAll(async () => {
    await program?.close();
  });

  it('compares a worn stylus before anything is known of its reader', async () => {
    const { page } = program;
    const known: Known = { view: 'front', microscope: 'kitchen scope', umPerPx };
    await newStylus(page, 'Read again and again');
    await addPictures(page, [
      [baseline, { ...known, day: '2024-01-06' }],
      [placings[0], { ...known, day: '2024-06-02' }],
    ]);
    await page.locator('.strip-item').getByRole('button', { name: 'Compare' }).click();
    await page.getByRole('heading', { name: 'Left wall' }).waitFor({ timeout: 90_000 });
    before = readMeasured(await wallValue(page, 'Left wall'));
    await page.getByText('Where the uncertainty comes from').click();
    await page.getByRole('table', { name: /^left flat, change/ }).waitFor();
    await page.getByRole('table', { name: /^area lost/ }).waitFor();
    expect(await page.getByRole('rowheader', { name: /^repeatability/ }).count()).toBe(0);
    await page.getByText('No repeatability study is in it').waitFor();
  });

  it('begins a study from the stylus page', async () => {
    const { page } = program;
    await link(page, 'Read again and again').first().click();
    await page.getByRole('heading', { level: 1, name: 'Read again and again' }).waitFor();
    await button(page, 'More').click();
    await page.getByRole('menuitem', { name: /Repeatability/ }).click();
    await page.getByRole('heading', { level: 1, name: 'Repeatability' }).waitFor();
    await expectAccessible(page, 'the studies');
    await page.getByLabel('Who takes the pictures').fill('A. Listener');
    await page.getByLabel('Microscope').fill('kitchen scope');
    await page.getByLabel('Day').fill('2024-06-03');
    await button(page, 'Begin').click();
    await page.getByRole('heading', { level: 1, name: /Repeatability study of/ }).waitFor();
    await page.getByText('0 of at least 5').waitFor();
    await page.getByText('barrel must not touch the cantilever').waitFor();
    expect(await page.getByRole('heading', { level: 2, name: 'Readings' }).count()).toBe(0);
  });

  it('reads each placing at once, and says what is still missing', async () => {
    const { page } = program;
    for (let k = 1; k <= 5; k++) {
      await page.getByLabel('Choose the next picture, file').setInputFiles(placings[k]);
      if (k === 1) {
        await page.getByLabel('Scale', { exact: true }).selectOption('typed');
        await page.getByLabel('Micrometres per pixel').fill(String(umPerPx));
      } else await page.getByLabel(/Same scale as the picture before/).waitFor();
      await button(page, 'Add it and read').click();
      const said = k < 5 ? `${k} of at least 5` : '5 readings';
      await page.getByText(said).waitFor({ timeout: 60_000 });
    }
    const rows = page.locator('.study-table tbody tr');
    await expect.poll(() => rows.count()).toBe(5);
    await expect.poll(() => page.locator('.study-verdict').allInnerTexts()).toEqual(Array(5).fill('Good'));
    const lefts = await rows.locator('td:nth-child(2)').allInnerTexts();
    for (const left of lefts) expect(Math.abs(Number.parseFloat(left) - TRUE_LEFT)).toBeLessThan(1);
    await expectAccessible(page, 'a full study');
  });

  it('takes a bad picture out, and back', async () => {
    const { page } = program;
    await button(page, /^Take out.*picture 3/).click();
    await page.getByText('4 of at least 5').waitFor();
    await expect.poll(() => page.locator('.study-table tbody tr').count()).toBe(4);
    await page.keyboard.press('Control+z');
    await page.getByText('5 readings').waitFor();
  });

  it('says in plain words what one reading is worth, and lets it count', async () => {
    const { page } = program;
    const said = async (): Promise<string> =>
      (await page.locator('.study-result').innerText()).replaceAll('\u00a0', ' ');
    await expect
      .poll(said)
      .toMatch(/One reading of yours scatters by [\d.]+ µm on the left wall and [\d.]+ µm on the right wall/);
    await button(page, 'Let this study count').click();
    await page.getByText(/This study counts: every examination/).waitFor();
    // The pair that was measured before knows nothing of it.
    await page.getByText('One stored result was measured').waitFor();
    await button(page, 'Measure it again').click();
    await page.getByText('One stored result was measured').waitFor({ state: 'detached', timeout: 90_000 });
  });

  it('shows it in the budget of the pair, its pictures off the timeline, and on the sheet', async () => {
    const { page } = program;
    await link(page, 'Repeatability').first().click();
    await link(page, 'Read again and again').first().click();
    await page.getByRole('heading', { level: 1, name: 'Read again and again' }).waitFor();
    await expect.poll(() => page.locator('.strip-item').count()).toBe(2);
    await page.locator('.timeline a[href^="#/bench/"]').first().click();
    await page.getByRole('heading', { name: 'Left wall' }).waitFor();
    const after = readMeasured(await wallValue(page, 'Left wall'));
    expect(after.value).toBeCloseTo(before.value, 1);
    expect(after.expanded).toBeGreaterThanOrEqual(before.expanded);
    await page.getByText('Where the uncertainty comes from').click();
    const budget = page.getByRole('table', { name: /^left flat, change/ });
    const row = budget.getByRole('row', { name: /^repeatability/ });
    expect((await row.innerText()).replaceAll('\u00a0', ' ')).toMatch(/A, ν 4/);
    expect(await page.getByText('No repeatability study is in it').count()).toBe(0);
    await expectAccessible(page, 'a budget with a study');
    await page.keyboard.press('Alt+p');
    const sheet = page.frameLocator('iframe');
    await sheet.getByText('Where the uncertainty comes from').waitFor({ timeout: 60_000 });
    const lines = sheet.getByText(/repeatability\s+[\d.]+\s+\(A,\s+ν\s+4\)/);
    await expect.poll(() => lines.count()).toBeGreaterThan(3);
    expect(program.troubles).toEqual([]);
  });
});
