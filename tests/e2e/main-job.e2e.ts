import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { notRun } from '../not-run.ts';
import { button, dialog, expectAccessible, link, readMeasured, wallValue } from './parts.ts';
import { wornPair, type PairFiles } from './pictures.ts';
import { openProgram, whyNoElectron, type Program, type Shell } from './program.ts';
import { endAtFirstFailure } from './story.ts';

/**
 * The main job, as one story: first run with the demo, a new stylus, a baseline, a later picture, the comparison and
 * its numbers against the rendered truth, playing time, the condition sheet. The same story for both shells.
 */
const SHELLS: readonly Shell[] = ['browser window', 'Electron'];
const NAME = 'Line stylus, green guard';

for (const shell of SHELLS) {
  const why = shell === 'Electron' ? whyNoElectron() : null;
  if (why !== null) notRun('The window’s end-to-end suite in Electron', why);
  describe.skipIf(why !== null)(`the main job, in ${shell === 'Electron' ? shell : `a ${shell}`}`, () => {
    story(shell);
  });
}

function story(shell: Shell): void {
  endAtFirstFailure();
  let program: Program;
  let pair: PairFiles;

  beforeAll(async () => {
    [program, pair] = await Promise.all([openProgram(shell), wornPair(71)]);
  });
  afterAll(async () => {
    await program?.close();
  });

  it('opens on the invented demo and says that it is one', async () => {
    const { page } = program;
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    await page.getByRole('region', { name: 'Demo' }).waitFor();
    const cards = page.getByRole('main').getByRole('listitem');
    await expect.poll(() => cards.count()).toBeGreaterThanOrEqual(2);
    for (const card of await cards.all()) expect(await card.innerText()).toContain('invented demo');
    await expectAccessible(page, 'the shelf');
  });

  it('starts a new stylus, with a comma in a number', async () => {
    const { page } = program;
    await button(page, 'New stylus').click();
    const form = dialog(page, 'New stylus');
    await button(form, 'Start this stylus').click();
    await form.getByText('Give the stylus a name that you will recognise.').waitFor();
    await form.getByLabel('Name').fill(NAME);
    await form.getByLabel('Cartridge').fill('Moving magnet, third of its kind');
    await form.getByLabel('Tip radius').fill('18,0');
    await form.getByLabel('In use since').fill('2024-01-05');
    await expectAccessible(page, 'the stylus form');
    await button(form, 'Start this stylus').click();
    await page.getByRole('heading', { level: 1, name: NAME }).waitFor();
    await expect.poll(() => page.locator('.key-facts').innerText()).toContain('18\u00a0µm');
    await expectAccessible(page, 'an empty stylus page');
  });

  it('imports the baseline and asks for the date instead of inventing one', async () => {
    const { page } = program;
    await button(page, 'Add pictures').first().click();
    const form = dialog(page, 'Add pictures');
    await form.getByText('Mute or turn down the amplifier').waitFor();
    await form.getByLabel('Picture files').setInputFiles(pair.baseline);
    await form.getByLabel('Taken on').waitFor();
    expect(await form.getByLabel('Taken on').inputValue()).toBe('');
    await button(form, 'Add picture').click();
    await form.getByText('When was it taken?').waitFor();
    await form.getByLabel('Taken on').fill('2024-01-06');
    await form.getByLabel('Light').selectOption({ label: 'From behind' });
    await form.getByLabel('Microscope').fill('Hand-held one');
    await form.getByLabel('Scale', { exact: true }).selectOption({ label: 'Typed in, µm per pixel' });
    await form
      .getByLabel('Micrometres per pixel')
      .fill(String(pair.truth.baseline.umPerPx).replace('.', ','));
    expect(await form.getByLabel('This is the baseline of its view').isChecked()).toBe(true);
    await expectAccessible(page, 'the import');
    await button(form, 'Add picture').click();
    await form.waitFor({ state: 'detached' });
    await page.locator('.strip-item').getByText('6 Jan 2024').waitFor();
  });

  it('logs playing time in records', async () => {
    const { page } = program;
    await button(page, 'Log playing time').first().click();
    const form = dialog(page, 'Log playing time');
    await form.getByLabel('How much').fill('150');
    await form.getByLabel('In', { exact: true }).selectOption('records');
    await form.getByLabel('Minutes a side').fill('20');
    await form.getByLabel('Day').fill('2024-06-30');
    await form.getByText('That is 100\u00a0h').waitFor();
    await expectAccessible(page, 'logging playing time');
    await button(form, 'Save').click();
    await form.waitFor({ state: 'detached' });
    await expect.poll(() => page.locator('.key-facts').innerText()).toContain('100\u00a0h');
  });

  it('takes the later picture as a dropped file and carries nothing over unasked', async () => {
    const { page } = program;
    const transfer = await page.evaluateHandle(
      ({ name, mimeType, base64 }) => {
        const bytes = Uint8Array.from(atob(base64), (char) => char.charCodeAt(0));
        const data = new DataTransfer();
        data.items.add(new File([bytes], name, { type: mimeType }));
        return data;
      },
      { ...pair.later, base64: pair.later.buffer.toString('base64') },
    );
    await page.dispatchEvent('main', 'dragover', { dataTransfer: transfer });
    await page.dispatchEvent('main', 'drop', { dataTransfer: transfer });
    const form = dialog(page, 'Add pictures');
    await form.getByLabel('Taken on').fill('2024-07-01');
    await form.getByLabel('Light').selectOption({ label: 'From behind' });
    await form.getByLabel('Scale', { exact: true }).selectOption({ label: 'Typed in, µm per pixel' });
    await form.getByLabel('Micrometres per pixel').fill(String(pair.truth.later.umPerPx));
    expect(await form.getByLabel('This is the baseline of its view').isChecked()).toBe(false);
    await button(form, 'Add picture').click();
    await form.waitFor({ state: 'detached' });
    await page.locator('.strip-item').getByText('1 Jul 2024').waitFor();
  });

  it('compares the pair and shows the flats with their uncertainty, within 1 µm of the truth', async () => {
    const { page } = program;
    await page.locator('.strip-item').getByRole('button', { name: 'Compare' }).click();
    await page.locator('.big-value').first().waitFor({ timeout: 45_000 });
    const { flats } = pair.truth.later;
    const left = readMeasured(await wallValue(page, 'Left wall'));
    const right = readMeasured(await wallValue(page, 'Right wall'));
    expect(Math.abs(left.value - flats.left.widthUm)).toBeLessThan(1);
    expect(Math.abs(right.value - flats.right.widthUm)).toBeLessThan(1);
    expect(left.expanded).toBeGreaterThan(0);
    await page.getByText('Where the uncertainty comes from').click();
    expect(await page.locator('.budget tbody tr').count()).toBeGreaterThan(4);
    await expectAccessible(page, 'the bench');
  });

  it('offers every way of looking by pointer and by key, and none turns faster than three a second', async () => {
    const { page } = program;
    for (const [index, way] of [
      'Laid over',
      'Taking turns',
      'Split',
      'Side by side',
      'Outlines',
      'Difference',
    ].entries()) {
      await page.getByRole('group', { name: /^Stage/ }).press(String(index + 1));
      await page.getByRole('radio', { name: way, checked: true }).waitFor();
      // The ways with controls of their own.
      if (way === 'Taking turns' || way === 'Split') await expectAccessible(page, `the bench, ${way}`);
    }
    await page.getByRole('radio', { name: 'Taking turns' }).click();
    const speed = page.getByLabel('Turns a second');
    await speed.fill('9');
    // Refused: the field goes back to the last speed that is allowed.
    expect(Number(await speed.inputValue())).toBeLessThanOrEqual(3);
    await button(page, 'Stop').click();
    await page.getByRole('radio', { name: 'Laid over' }).click();
  });

  it('ties the profile to an angle that can be typed', async () => {
    const { page } = program;
    await page.getByLabel('At angle').fill('135');
    await expect.poll(() => page.locator('.probe-value').innerText()).toMatch(/±\s[\d.]+\sµm gone/);
  });

  it('puts the result on the timeline at its hours, and in the chart and its table', async () => {
    const { page } = program;
    await link(page, NAME).click();
    await page.getByRole('heading', { level: 1, name: NAME }).waitFor();
    const row = page.locator('.timeline-comparison');
    await expect.poll(() => row.innerText()).toMatch(/at 100\u00a0h/);
    await page.getByText('The measured widths as a table').click();
    const cells = page.locator('.twin tbody tr').last().getByRole('cell');
    expect(await cells.nth(0).innerText()).toBe('100\u00a0±\u00a010\u00a0h');
    expect(readMeasured(await cells.nth(1).innerText()).value).toBeGreaterThan(5);
    await expectAccessible(page, 'a full stylus page');
  });

  it('takes a removal back', async () => {
    const { page } = program;
    await button(page, /^Put into the bin: Playing time/).click();
    await expect.poll(() => page.locator('.key-facts').innerText()).not.toContain('100\u00a0h');
    await page.getByRole('button', { name: 'Undo' }).last().click();
    await page.locator('.key-facts').getByText('100\u00a0h').waitFor();
  });

  it('examines one picture on its own', async () => {
    const { page } = program;
    await link(page.locator('.strip-item').last(), /1 Jul 2024/).click();
    await button(page, 'Examine the tip').click();
    const verdict = page.getByText(/Good enough to show a flat of/);
    await verdict.waitFor({ timeout: 45_000 });
    expect(await verdict.innerText()).toMatch(/flat of [\d.]+\sµm or more/);
    await expectAccessible(page, 'one picture');
    await link(page, NAME).click();
  });

  it('finds every command by typing', async () => {
    const { page } = program;
    await page.keyboard.press('Control+k');
    const list = dialog(page, 'Command list');
    await list.getByRole('combobox').fill('sheet');
    await expectAccessible(page, 'the command list');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: 'Condition sheet' }).waitFor();
    await expect.poll(() => list.count()).toBe(0);
  });

  it('shows the condition sheet and saves it as a PDF with real text', async () => {
    const { page } = program;
    const preview = page.frameLocator('iframe[title="Condition sheet, preview"]');
    await preview.getByText(NAME).first().waitFor({ timeout: 30_000 });
    await page.getByLabel('Paper').selectOption('Letter');
    await expectAccessible(page, 'the sheet');
    const waiting = page.waitForEvent('download', { timeout: 45_000 });
    await button(page, 'Save PDF').click();
    const download = await waiting;
    expect(download.suggestedFilename()).toMatch(/\.pdf$/);
    const bytes = readFileSync(await download.path());
    expect(bytes.subarray(0, 5).toString('latin1')).toBe('%PDF-');
  });

  it('removes the demo and keeps the person’s own stylus', async () => {
    const { page } = program;
    await link(page, 'Stylus Daybook').click();
    await button(page, 'Remove the demo').click();
    await expect.poll(() => page.locator('.card').count(), { timeout: 20_000 }).toBe(1);
    expect(await page.locator('.card').innerText()).toContain(NAME);
  });

  it('reported no error on the way', () => {
    expect(program.troubles).toEqual([]);
  });
}
