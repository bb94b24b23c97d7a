import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { harmonicsFor, makeTone } from '../core/listening/signals.ts';
import { wavFile } from '../electron/sound/wav-file.ts';
import { button, dialog, expectAccessible, link } from './parts.ts';
import { wornPair, type PairFiles } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { addPictures, addToDaybook, answer, chooseFiles, newStylus } from './set-ups.ts';
import { endAtFirstFailure } from './story.ts';

/** From a damage that somebody marked, and from ears, to a decision on paper; and a used deck at the seller's table. */
const band = (thd: number, seed: number) => {
  const make = { sampleRate: 48_000, seconds: 3, hz: 1000, harmonics: harmonicsFor(thd), speedError: 0.006 };
  const left = makeTone({ ...make, snrDb: 60, seed });
  const bytes = wavFile({ channels: [left, left.map((x) => 0.9 * x)], format: 'int24' });
  return { mimeType: 'audio/wav', buffer: Buffer.from(bytes) };
};

/** DAYBOOK_LOOK names a folder: pictures of the screens go there, for somebody to look at. */
async function look(program: Program, name: string): Promise<void> {
  const folder = process.env['DAYBOOK_LOOK'];
  if (!folder) return;
  mkdirSync(folder, { recursive: true });
  for (const scheme of ['light', 'dark'] as const) {
    await program.page.emulateMedia({ colorScheme: scheme });
    for (const width of [1280, 800]) {
      await program.page.setViewportSize({ width, height: 860 });
      const path = join(folder, `${name}-${scheme}-${width}.png`);
      writeFileSync(path, await program.page.screenshot({ fullPage: true }));
    }
  }
  await program.page.emulateMedia({ colorScheme: 'light' });
  await program.page.setViewportSize({ width: 1280, height: 860 });
}

describe('deciding, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  let pair: PairFiles;

  beforeAll(async () => {
    [program, pair] = await Promise.all([openProgram('browser window'), wornPair(91)]);
  });
  afterAll(async () => {
    await program?.close();
  });

  it('cannot tell without evidence, and says what is missing', async () => {
    const { page } = program;
    await newStylus(page, 'Living-room deck', { 'Hours at the start': '40' });
    const advice = page.getByRole('region', { name: 'Advice' });
    await advice.getByText('Cannot tell').first().waitFor();
    await advice.getByText('What nobody can tell from this').waitFor();
    expect(await advice.getByText('The flats were not measured.').count()).toBeGreaterThan(0);
    await look(program, 'advice-empty');
  });

  it('carries a chip that was marked into the advice', async () => {
    const { page } = program;
    await addPictures(page, [[pair.later, { day: '2024-07-01' }]]);
    await page.locator('.strip-link').first().click();
    const panel = page.locator('.marks');
    await panel.getByLabel('Mark a').selectOption('chip');
    await button(panel, 'Type it in').click();
    const mark = dialog(page, 'New mark');
    await mark.getByLabel('How sure').selectOption('confirmed');
    await button(mark, 'Save mark').click();
    await mark.waitFor({ state: 'detached' });
    await link(page, 'Living-room deck').first().click();
    const advice = page.getByRole('region', { name: 'Advice' });
    await advice.getByText('Take it off now').first().waitFor();
    await advice.getByText('You confirmed a chip: playing ends here.').first().waitFor();
    await advice.getByText(/^All \d+ rules/).click();
    await expect.poll(() => advice.locator('.rules li').count()).toBeGreaterThan(15);
    await expectAccessible(page, 'the stylus page with advice');
    await look(program, 'advice-chip');
  });

  it('keeps a listening check with what was heard, and asks for other causes first', async () => {
    const { page } = program;
    await button(page, 'Listening check').click();
    const form = dialog(page, 'Add: listening check');
    await form.getByLabel('Splashing sibilants').selectOption('new');
    await form.getByLabel('One channel worse').selectOption('worse');
    await form.getByLabel('Which channel').selectOption('left channel');
    await form.getByLabel('On the whole').selectOption('worse');
    await look(program, 'listening-dialog');
    await expectAccessible(page, 'the listening check');
    await button(form, 'Save').click();
    await form.waitFor({ state: 'detached' });
    await page
      .getByText(/splashing sibilants: new; one channel worse: worse than before \(left channel\)/)
      .waitFor();
    const advice = page.getByRole('region', { name: 'Advice' });
    await advice.getByText('Rule out first: 6 of 6 other causes are open').waitFor();
    await advice.getByLabel('Anti-skating: answer').selectOption('put-right');
    await advice.getByText('Rule out first: 5 of 6 other causes are open').waitFor();
    await expect.poll(() => advice.locator('.cause').count()).toBe(6);
    await look(program, 'advice-causes');
  });

  it('measures a test band then and now', async () => {
    const { page } = program;
    await link(page, 'Listening: passages, test bands, recordings').click();
    await page.getByRole('heading', { level: 1, name: 'Listening' }).waitFor();
    await button(page, 'New passage or test band').click();
    const form = page.getByRole('form', { name: 'New passage or test band' });
    await form.getByLabel('Kind').selectOption('tone');
    await form.getByLabel('Name').fill('1 kHz band');
    await form.getByLabel('Frequency').fill('1000');
    await button(form, 'Save').click();
    for (const [name, thd, day] of [
      ['then.wav', 0.004, '2024-01-02'],
      ['now.wav', 0.02, '2025-01-02'],
    ] as const) {
      await page.getByLabel('Recording, WAV file').setInputFiles({ name, ...band(thd, thd * 1000) });
      const add = page.getByRole('form', { name: 'Add a recording' });
      await add.getByLabel('Recorded on').fill(day);
      await button(add, 'Add the recording').click();
      await add.waitFor({ state: 'detached' });
    }
    await expect.poll(() => page.locator('.tone-result').count(), { timeout: 60_000 }).toBe(2);
    const cells = await page.locator('.tone-result').last().getByRole('cell').allInnerTexts();
    expect(Number.parseFloat(cells[0])).toBeGreaterThan(1.9);
    expect(Number.parseFloat(cells[0])).toBeLessThan(2.1);
    await page.getByRole('img', { name: /^THD then and now/ }).waitFor();
    await expectAccessible(page, 'the listening screen');
    await look(program, 'listening');
    await page.getByLabel('Recording, WAV file').setInputFiles({
      name: 'song.mp3',
      mimeType: 'audio/mpeg',
      buffer: Buffer.from('ID3 and something more'),
    });
    await page.getByText('The file is an MP3 file. Export it as WAV').first().waitFor();
  });

  it('puts all of it on the sheet of the stylus', async () => {
    const { page } = program;
    await link(page, 'Living-room deck').first().click();
    await link(page, 'Sheet').first().click();
    const sheet = page.frameLocator('iframe');
    await sheet.getByText('Advice: take it off now').waitFor();
    await sheet.getByText('You confirmed a chip: playing ends here.').waitFor();
    await sheet.getByText('THD, 2nd to 5th harmonic').waitFor();
    const text = (await sheet.locator('body').innerText()).replaceAll('\u00a0', ' ');
    expect(text).toMatch(/Chip\s+confirmed/);
    expect(text).toMatch(/2 Jan 2025\s+1 kHz band\s+left 2\.0/);
    expect(text).toMatch(/[0-9a-f]{64}/);
    await look(program, 'stylus-sheet');
  });

  it('walks around a used turntable: deck, seller, costs', async () => {
    const { page } = program;
    await link(page, 'Turntables on offer').first().click();
    await page.getByRole('heading', { level: 1, name: 'Turntables on offer' }).waitFor();
    await expectAccessible(page, 'the turntables on offer');
    await page.getByLabel('Which turntable').fill('Belt-driven deck from the flea market');
    await button(page, 'Begin').click();
    await page.getByRole('heading', { level: 1, name: 'Belt-driven deck from the flea market' }).waitFor();
    await look(program, 'offer-empty');
    await page.getByLabel('Price asked').fill('120,50');
    await page.getByLabel('Currency').fill('EUR');
    await page.getByText('Not plugged in yet').waitFor();
    for (const [part, answer] of [
      ['Lead and plug', 'in-order'],
      ['Voltage and frequency', 'in-order'],
      ['Bearing', 'faulty'],
    ])
      await page.getByLabel(`${part}: finding`).selectOption(answer);
    await page.getByText('Not plugged in yet').waitFor({ state: 'detached' });
    await page.getByLabel('Bearing: note').fill('grinds');
    await page.getByLabel('Statement 1, the seller says').fill('hardly ever played');
    await page.getByLabel('Statement 1, so it is').selectOption('contradicted');
    await page.getByLabel('Cost 1, amount').fill('60');
    const sum = page.getByText(/^Price and costs so far/);
    await expect
      .poll(async () => (await sum.innerText()).replaceAll('\u00a0', ' '))
      .toBe('Price and costs so far: 180.50 EUR');
  }, 120_000);

  it('examines one picture of its stylus, and prints what was found', async () => {
    const { page } = program;
    await button(page, 'Add pictures').click();
    const form = await chooseFiles(page, [pair.baseline]);
    await answer(form, { day: '2025-06-01', umPerPx: pair.truth.baseline.umPerPx });
    await addToDaybook(form, 1);
    await button(page, 'Examine').click();
    await page.getByText(/^Flat left: /).waitFor({ timeout: 120_000 });
    const sheet = page.frameLocator('iframe');
    await sheet.getByText('Left against right').waitFor();
    await sheet.getByText('grinds').waitFor();
    await sheet.getByText('hardly ever played').waitFor();
    await sheet.getByText('Fit a new stylus before a record is played.').waitFor();
    await expectAccessible(page, 'the turntable on offer');
    await look(program, 'offer-full');
    const saved = page.waitForEvent('download');
    await button(page, 'Save PDF').click();
    expect((await saved).suggestedFilename()).toMatch(/^Belt-driven-deck-from-the-flea-market-.*\.pdf$/);
  }, 180_000);

  it('ends without an error in the page', () => {
    expect(program.troubles).toEqual([]);
  });
});
