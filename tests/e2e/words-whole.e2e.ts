import { fileURLToPath } from 'node:url';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoCollection } from '../../fixtures/demo.ts';
import { button, dialog, link } from './parts.ts';
import { openProgram, type Program } from './program.ts';
import { endAtFirstFailure } from './story.ts';

/** Words of lists that stand in narrow columns, and sentences that name what stands beside them. */
const EVERYDAY = 'Everyday stylus (demo)';
const WIDTHS = [1280, 1000, 760] as const;
const FILES = demoCollection()
  .captures.filter(({ key }) => key.startsWith('everyday-front'))
  .slice(0, 2)
  .map(({ key }) => fileURLToPath(new URL(`../../dist/demo/${key}.jpg`, import.meta.url)));

/** What is chosen in a list that is narrower than it would be by itself with that choice alone. */
const cutChoices = (page: Page): Promise<string[]> =>
  page.evaluate(() =>
    [...document.querySelectorAll('select')].flatMap((select) => {
      const width = select.getBoundingClientRect().width;
      const alone = select.cloneNode(false) as HTMLSelectElement;
      const option = document.createElement('option');
      option.textContent = select.selectedOptions[0]?.textContent ?? '';
      alone.append(option);
      alone.style.cssText = 'width: auto; min-width: 0; position: absolute';
      select.after(alone);
      const wanted = alone.getBoundingClientRect().width;
      alone.remove();
      return width > 0 && wanted > width + 0.5 ? [`${option.textContent}: ${width} of ${wanted} px`] : [];
    }),
  );

describe('words of lists', () => {
  endAtFirstFailure();
  let program: Program;
  beforeAll(async () => {
    program = await openProgram('browser window');
    await link(program.page, EVERYDAY).first().waitFor({ timeout: 60_000 });
  });
  afterAll(async () => {
    await program?.close();
  });

  it('are whole in the table of files', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+i');
    const form = dialog(page, 'Add pictures');
    await form.getByLabel('Picture files').setInputFiles(FILES);
    const rows = form.locator('.intake-row');
    for (const [at, view, light] of [
      [0, 'below', 'backlit'],
      [1, 'end-on', 'side-light'],
    ] as const) {
      const row = rows.nth(at);
      await row.getByLabel(/^Stylus:/).selectOption({ label: EVERYDAY });
      await row.getByLabel(/^View:/).selectOption(view);
      await row.getByLabel(/^Light:/).selectOption(light);
    }
    for (const width of WIDTHS) {
      await page.setViewportSize({ width, height: 860 });
      expect(await cutChoices(page), `${width} px wide`).toEqual([]);
      const table = form.getByRole('table', { name: 'Files' });
      expect(await table.evaluate((one) => one.scrollWidth - one.clientWidth)).toBeLessThanOrEqual(0);
    }
  });

  it('say of every tick in that table what it is for, and of which file', async () => {
    const { page } = program;
    const form = dialog(page, 'Add pictures');
    await page.setViewportSize({ width: 1280, height: 860 });
    const table = form.getByRole('table', { name: 'Files' });
    expect(await table.getByRole('columnheader').first().innerText()).toBe('Answer together');
    const ticks = await table
      .getByRole('checkbox')
      .evaluateAll((all) =>
        all.map(
          (one) => one.getAttribute('aria-label') ?? (one as HTMLInputElement).labels?.[0]?.textContent,
        ),
      );
    const names = FILES.map((path) => path.split('/').at(-1));
    expect(ticks.length).toBeGreaterThan(FILES.length);
    for (const tick of ticks)
      expect(tick).toMatch(
        new RegExp(
          `^(Answer together|Add it all the same|Date unknown|This is the baseline of its view): (${names.join('|')})$`,
        ),
      );
    await page.setViewportSize({ width: WIDTHS.at(-1)!, height: 860 });
  });

  it('name the button that is there', async () => {
    const { page } = program;
    const row = dialog(page, 'Add pictures').locator('.intake-row').first();
    await row.getByLabel('Scale', { exact: true }).selectOption('typed');
    await row.getByLabel('Micrometres per pixel').fill('-3');
    await row.getByText('not usable, see below').waitFor();
    const [less, more] = ['Less', 'More'].map((name) => row.locator('.intake-buttons').getByText(name));
    await less.click();
    await row.getByText('not usable, see More').waitFor();
    expect([await less.count(), await more.count()]).toEqual([0, 1]);
    await button(dialog(page, 'Add pictures'), 'Cancel').click();
    await dialog(page, 'Add pictures').waitFor({ state: 'detached' });
  });

  it('do not make a card tall, and are there whole for whoever asks', async () => {
    const { page } = program;
    const long = `Spare ${'with a name that somebody pasted in '.repeat(5)}end`;
    await page.keyboard.press('Alt+n');
    const form = dialog(page, 'New stylus');
    await form.getByLabel('Name').fill(long);
    await form.getByLabel('Cartridge').fill(long);
    await button(form, 'Start this stylus').click();
    await page.getByRole('heading', { level: 1, name: long }).waitFor();
    await page.keyboard.press('Alt+s');
    const name = page.locator('.card-name', { hasText: long });
    await name.waitFor();
    const lines = await name.evaluate(
      (one) => one.clientHeight / Number.parseFloat(getComputedStyle(one).lineHeight),
    );
    expect(lines).toBeLessThan(2.5);
    expect(await name.getAttribute('title')).toBe(long);
    expect(await link(page.locator('.card'), new RegExp(`${long}$`)).count()).toBe(1);
  });

  it('are whole beside a live picture', async () => {
    const { page } = program;
    await link(page, EVERYDAY).first().click();
    await page.getByRole('heading', { level: 1, name: EVERYDAY }).waitFor();
    await page.keyboard.press('Alt+m');
    await page.getByLabel('Light').selectOption('backlit');
    for (const width of WIDTHS) {
      await page.setViewportSize({ width, height: 860 });
      expect(await cutChoices(page), `${width} px wide`).toEqual([]);
    }
    expect(program.troubles).toEqual([]);
  });
});
