import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { demoCollection } from '../../fixtures/demo.ts';
import { KNOCKED_BEND_DEG } from '../../fixtures/demo-knocked.ts';
import { cantileverToPicture, renderCantilever } from '../../fixtures/render/cantilever.ts';
import { bendOf, inWindow, marks } from './marks-parts.ts';
import { button, command, dialog, link, pictureShown, steer, tabTo } from './parts.ts';
import { openProgram, type Program } from './program.ts';
import { endAtFirstFailure } from './story.ts';

/**
 * Somebody who never saw the program, with the README's "Five minutes with the demo" in hand: compare two pictures,
 * confirm a chip, measure a bent cantilever. Once by pointer, once by nothing but the keyboard, each in less than the
 * five minutes, measuring included; a person's reading and hesitating is not in it.
 */
const NAME = 'Knocked stylus (demo)';
const MOST_MS = 5 * 60_000;

function sidePicture() {
  const capture = demoCollection().captures.find(({ key }) => key === 'knocked-side-90');
  if (capture?.recipe.kind !== 'cantilever') throw new Error('sidePicture: the demo has no bent cantilever');
  const { spec } = capture.recipe;
  const along = (share: number) => cantileverToPicture(spec, { x: share * spec.lengthUm, y: 0 });
  return {
    size: { width: spec.widthPx, height: spec.heightPx },
    // Near the root, at the bend, near the tip.
    spots: [along(0.06), along(spec.bendAt), renderCantilever(spec).truth.tipPx],
  };
}

const suspected = (page: Page) => page.getByRole('list', { name: 'Suspected by the program' });

async function expectChipConfirmed(page: Page): Promise<void> {
  await marks(page).getByText('1. Chip, confirmed').waitFor();
  await suspected(page).waitFor({ state: 'detached' });
}

async function expectBendMeasured(page: Page): Promise<void> {
  const row = marks(page).getByRole('listitem').filter({ hasText: 'Bent cantilever' }).last();
  await row.waitFor();
  const { value, expanded } = bendOf(await row.innerText());
  expect(Math.abs(value - KNOCKED_BEND_DEG)).toBeLessThan(Math.max(1, expanded));
}

/** Found by the program itself, beside what a hand measured. */
async function expectAxisFound(page: Page): Promise<void> {
  const line = page.locator('.numbers').filter({ hasText: 'Bend' }).first();
  await expect.poll(() => line.count(), { timeout: 60_000 }).toBeGreaterThan(0);
  const { value, expanded } = bendOf((await line.innerText()).replace(/^[\s\S]*?Bend/, ''));
  expect(Math.abs(value - KNOCKED_BEND_DEG)).toBeLessThan(0.5);
  expect(expanded).toBeGreaterThan(0);
}

describe.each(['pointer', 'keyboard alone'] as const)('the first five minutes, by %s', (by) => {
  endAtFirstFailure();
  let program: Program;
  let spent = 0;
  let begun = 0;
  beforeAll(async () => {
    program = await openProgram('browser window', by === 'pointer' ? {} : { reducedMotion: 'reduce' });
    begun = performance.now();
  });
  afterEach(() => {
    spent = performance.now() - begun;
  });
  afterAll(async () => {
    await program?.close();
  });

  it('opens the demo’s knocked stylus from the shelf', async () => {
    const { page } = program;
    await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
    await link(page, NAME).first().waitFor({ timeout: 60_000 });
    if (by === 'pointer') await link(page, NAME).first().click();
    else {
      await tabTo(page, /^Knocked stylus \(demo\)/);
      await page.keyboard.press('Enter');
    }
    await page.getByRole('heading', { level: 1, name: NAME }).waitFor();
    await expect.poll(() => page.locator('.strip-item').count()).toBe(3);
  });

  it('compares the two front pictures', async () => {
    const { page } = program;
    if (by === 'pointer') {
      const later = page.locator('.strip-item', { hasText: '30\u00a0Nov\u00a02024' });
      await later.getByRole('button', { name: 'Compare' }).first().click();
    } else {
      await page.keyboard.press('Alt+c');
      await dialog(page, 'Compare two pictures').waitFor();
      await tabTo(page, /^Lay over and measure$/);
      await page.keyboard.press('Enter');
    }
    await page.locator('.big-value').first().waitFor({ timeout: 90_000 });
    expect(await page.locator('.big-value').count()).toBe(2);
    expect(await suspected(page).innerText()).toMatch(/Chip\?\s+At 8[2-6]°/);
  });

  it('confirms the chip', async () => {
    const { page } = program;
    if (by === 'pointer') await button(page, /^Confirm: chip at/).click();
    else {
      await tabTo(page, /^Confirm: chip at/);
      await page.keyboard.press('Enter');
    }
    await expectChipConfirmed(page);
    expect(await marks(page).getByRole('listitem').count()).toBe(1);
  });

  it('measures the bent cantilever, by the program and by hand', async () => {
    const { page } = program;
    const { size, spots } = sidePicture();
    if (by === 'pointer') {
      await link(page, NAME).first().click();
      await link(page.locator('.strip-item', { hasText: 'side, 90' }), /^30\sNov\s2024/).click();
    } else {
      await command(page, 'go stylus page');
      await page.getByRole('heading', { level: 1, name: NAME }).waitFor();
      await tabTo(page, /^30\sNov\s2024, 16:11$/);
      await page.keyboard.press('Enter');
    }
    await page.getByRole('heading', { level: 1, name: /Picture of/ }).waitFor();
    await pictureShown(page);
    if (by === 'pointer') await button(page, /^Measure (the cantilever|it again)$/).click();
    else {
      await tabTo(page, /^Measure (the cantilever|it again)$/);
      await page.keyboard.press('Enter');
    }
    await page.locator('.job').waitFor({ state: 'detached', timeout: 60_000 });
    await expectAxisFound(page);
    if (by === 'pointer') {
      await page.getByLabel('Mark a').selectOption({ label: 'Bent cantilever' });
      await button(page, 'Angle').click();
      for (const spot of spots) {
        const { x, y } = await inWindow(page, size, spot);
        await page.mouse.click(x, y);
      }
      await button(dialog(page, 'New mark'), 'Save mark').click();
    } else {
      await command(page, 'next mark bent');
      await command(page, 'mark: angle');
      await page.locator('.picking').getByText('near the root').waitFor();
      let at = await inWindow(page, size, { x: (size.width - 1) / 2, y: (size.height - 1) / 2 });
      for (const spot of spots) {
        const to = await inWindow(page, size, spot);
        await steer(page, to.x - at.x, to.y - at.y);
        at = { x: at.x + Math.round(to.x - at.x), y: at.y + Math.round(to.y - at.y) };
        await page.keyboard.press('Enter');
      }
      await dialog(page, 'New mark').waitFor();
      await tabTo(page, /^Save mark$/);
      await page.keyboard.press('Enter');
    }
    await dialog(page, 'New mark').waitFor({ state: 'detached' });
    await expectBendMeasured(page);
    expect(await page.locator('.toast-problem').count()).toBe(0);
  });

  it('finds both on the timeline, within five minutes', async () => {
    const { page } = program;
    if (by === 'pointer') await link(page, NAME).first().click();
    else await command(page, 'go stylus page');
    await page.locator('.timeline-mark').getByText('Chip, confirmed').waitFor();
    await page
      .locator('.timeline-mark')
      .getByText(/Bent cantilever/)
      .waitFor();
    expect(spent).toBeGreaterThan(0);
    expect(spent).toBeLessThan(MOST_MS);
    expect(program.troubles).toEqual([]);
  });
});
