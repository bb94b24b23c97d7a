import { mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BrowserContextOptions, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { button, expectAccessible } from './parts.ts';
import { wornPair } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { addPictures, newStylus } from './set-ups.ts';
import { endAtFirstFailure } from './story.ts';

/**
 * The automatic backup comes ten seconds after the first start, whatever this story is just doing: on a slow machine it
 * finds the stylus in the bin, and brings it back there.
 */
const madeByHand = (page: Page): Locator =>
  page.getByRole('list', { name: 'Backups' }).getByRole('listitem').filter({ hasText: 'made by hand' });

/**
 * A collection that cannot be lost, as a person sees it: a backup, the bin, a damaged database at the next start, and
 * the way back. One collection through three starts of the program.
 */
describe('safekeeping, in a browser window', () => {
  endAtFirstFailure();
  const home = mkdtempSync(join(tmpdir(), 'daybook-keeping-'));
  const collection = join(home, 'collection');
  let program: Program;

  const start = async (options: BrowserContextOptions = {}): Promise<void> => {
    program = await openProgram('browser window', options, collection);
  };
  const stop = async (): Promise<void> => {
    expect(program.troubles).toEqual([]);
    await program.close();
  };
  beforeAll(() => start());
  afterAll(async () => {
    await program?.close().catch(() => undefined);
    rmSync(home, { recursive: true, force: true });
  });

  it('makes a backup of what somebody began, and reads it back', async () => {
    const { page } = program;
    await newStylus(page, 'Kept stylus');
    const pair = await wornPair(73);
    await addPictures(page, [[pair.baseline, { day: '2024-01-06' }]]);
    await page.keyboard.press('Alt+y');
    await page.getByRole('heading', { level: 1, name: 'Safekeeping' }).waitFor();
    await button(page, 'Make a backup').click();
    await expect.poll(() => madeByHand(page).count(), { timeout: 30_000 }).toBe(1);
    await expectAccessible(page, 'safekeeping');
  });

  it('checks everything and says that it is fine', async () => {
    const { page } = program;
    await button(page, 'Check everything').click();
    const said = page.getByText(/^Everything is as it should be/);
    await said.waitFor({ timeout: 30_000 });
    expect(await said.innerText()).toMatch(/database and \d+ pictures/);
  });

  it('puts a stylus away and takes it back from the bin', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+s');
    await page.getByRole('link', { name: 'Kept stylus' }).first().click();
    await page.getByRole('heading', { level: 1, name: 'Kept stylus' }).waitFor();
    await page.keyboard.press('Control+k');
    await page.getByLabel('Search the commands').fill('this stylus into the bin');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    await page.keyboard.press('Alt+b');
    await page.getByRole('heading', { level: 1, name: 'Bin' }).waitFor();
    const items = page.getByRole('list', { name: 'In the bin' }).getByRole('listitem');
    await expect.poll(() => items.count(), { timeout: 15_000 }).toBe(1);
    await button(page, 'Empty the bin…').click();
    await page.getByRole('alertdialog', { name: 'This cannot be taken back' }).waitFor();
    await expectAccessible(page, 'the bin, asking');
    await button(page, 'Keep them').click();
    await items.getByRole('button', { name: /^Take back/ }).click();
    await page.getByText('The bin is empty').waitFor();
    await stop();
  });

  it('says at the next start that the database is damaged, and offers no deletion', async () => {
    const file = join(collection, 'daybook.sqlite');
    const bytes = readFileSync(file);
    for (let at = 4096 * 25; at < bytes.length; at += 4096 * 6) bytes.fill(0x5a, at, at + 4096);
    writeFileSync(file, bytes);
    await start({ colorScheme: 'dark' });
    const { page } = program;
    await page.getByRole('heading', { level: 1, name: 'The collection could not be opened' }).waitFor();
    const actions = await page.getByRole('main').getByRole('button').allInnerTexts();
    expect(actions.join()).not.toMatch(/delete|remove|destroy|empty/i);
    await expectAccessible(page, 'recovery');
  });

  it('shows what can still be read, for looking only', async () => {
    const { page } = program;
    await button(page, 'Open a copy for looking').click();
    await page.getByText('for looking only. Something may be missing').waitFor({ timeout: 30_000 });
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    await expectAccessible(page, 'a copy for looking');
    expect(await page.getByRole('main').getByRole('listitem').count()).toBeGreaterThan(0);
    await button(page, 'Back to the other ways').click();
    await page.getByRole('heading', { level: 1, name: 'The collection could not be opened' }).waitFor();
  });

  it('takes the backup back, keeps the damaged one aside, and goes on', async () => {
    const { page } = program;
    await madeByHand(page)
      .getByRole('button', { name: /^Take back/ })
      .click();
    await page.getByRole('heading', { level: 1, name: 'Safekeeping' }).waitFor({ timeout: 30_000 });
    await page.getByRole('list', { name: 'Kept aside' }).waitFor();
    await page.keyboard.press('Alt+s');
    await page.getByRole('link', { name: 'Kept stylus' }).first().waitFor();
    expect(readdirSync(join(collection, 'aside'))).toHaveLength(1);
    await stop();
  });
});
