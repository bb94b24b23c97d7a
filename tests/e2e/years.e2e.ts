import { createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import type { CDPSession, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addCapture } from '../../electron/host/store/captures.ts';
import { openCollection } from '../../electron/host/store/collection.ts';
import { addComparison } from '../../electron/host/store/comparisons.ts';
import { addEntry } from '../../electron/host/store/entries.ts';
import { createStylus } from '../../electron/host/store/styluses.ts';
import { answered, flatPair, measured } from '../renderer/reports.ts';
import { button, dialog, link } from './parts.ts';
import { openProgram, type Program } from './program.ts';
import { endAtFirstFailure } from './story.ts';
import { framesOf, traced, workOf, type Frames, type Work } from './trace.ts';

/**
 * Ten years of daily records: 20,000 entries and forty pictures on one stylus, opened, scrolled and filled from a list.
 * Times are processor time of the page's own thread, and the calmest of a few tries counts: what a machine does beside
 * this must not decide.
 */
const NAME = 'Ten years';
const ENTRIES = 20_000;
const PICTURES = 40;
const TRIES = 10;
/** The longest piece of work on the way from the answer, 6 MB of entries, to list and chart. */
const MOST_OPENING_MS = 100;
const MOST_SCRIPT_MS = 8;
const LONG_TASK_MS = 50;

const dayOf = (share: number): string =>
  new Date(Date.UTC(2015, 0, 2 + Math.floor(share * 3650))).toISOString().slice(0, 10);

async function makeYears(): Promise<string> {
  const folder = mkdtempSync(join(tmpdir(), 'daybook-years-'));
  const grey = { width: 64, height: 48, channels: 3 as const, background: '#999' };
  const small = await sharp({ create: grey }).jpeg().toBuffer();
  const collection = await openCollection({ folder, who: 'the tests' });
  const { db } = collection;
  mkdirSync(join(folder, 'originals'), { recursive: true });
  const scale = { umPerPx: 1, standardUmPerPx: null, source: 'typed' as const };
  db.transaction(() => {
    const { id: stylusId } = createStylus(db, {
      name: NAME,
      cartridge: 'as found (invented)',
      profile: 'elliptical',
      deck: '',
      radiusUm: 18,
      sideRadiusUm: 8,
      ratedHours: null,
      startDate: '2015-01-01',
      startHours: 0,
      price: null,
      currency: '',
      limitUm: 12,
      notes: '',
    });
    for (let n = 0; n < ENTRIES; n++) {
      const sides = { amount: 2, unit: 'sides' as const, minutesPerSide: 20, hours: 2 / 3, estimated: false };
      const note = n % 10 === 9;
      addEntry(db, {
        stylusId,
        kind: note ? 'note' : 'playing',
        date: dayOf(n / ENTRIES),
        played: note ? null : sides,
        text: note ? `Note number ${n}` : `Record ${n % 700} (invented), sleeve a little worn`,
      });
    }
    const captures = Array.from({ length: PICTURES }, (_, n) => {
      const text = Buffer.from(`picture ${n}`);
      const bytes = Buffer.concat([
        small.subarray(0, 2),
        Buffer.from([0xff, 0xfe, 0, text.length + 2]),
        text,
        small.subarray(2),
      ]);
      const sha256 = createHash('sha256').update(bytes).digest('hex');
      writeFileSync(join(folder, 'originals', `${sha256}.jpg`), bytes);
      return addCapture(db, {
        stylusId,
        fileName: `picture-${n}.jpg`,
        original: { sha256, mediaType: 'image/jpeg', byteLength: bytes.length, widthPx: 64, heightPx: 48 },
        view: 'front',
        light: 'backlit',
        mirrored: false,
        taken: { wall: dayOf(n / PICTURES), offset: null, source: 'person' },
        scale,
        microscope: '',
        isBaseline: n === 0,
        notes: '',
      });
    });
    for (const [n, later] of captures.entries()) {
      if (n === 0) continue;
      // As the wear law has it: the 3.5th power of the width grows with the hours.
      const width = (grows: number): number => (grows * n) ** (1 / 3.5);
      addComparison(db, {
        stylusId,
        baselineId: captures[0].id,
        laterId: later.id,
        engineVersion: 'invented',
        inputs: { view: 'front', baselineScale: scale, laterScale: scale },
        report: answered(flatPair(measured(width(120), 0.6)), flatPair(measured(width(90), 0.6))),
      });
    }
  });
  collection.close();
  return folder;
}

describe('ten years of daily records, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  let folder: string;
  let session: CDPSession;
  beforeAll(async () => {
    folder = await makeYears();
    program = await openProgram('browser window', {}, folder);
    session = await program.page.context().newCDPSession(program.page);
  });
  afterAll(async () => {
    await program?.close();
    if (folder) rmSync(folder, { recursive: true, force: true });
  });

  /** By script and style: asking for roles would walk through the page in its own thread. */
  const openYears = async (page: Page): Promise<void> => {
    await page.evaluate(() => document.querySelector<HTMLElement>('.card-link')?.click());
    await page.locator('.timeline-row').first().waitFor();
    await page.locator('.chart svg').first().waitFor();
  };

  it('open with list and chart in a tenth of a second', async () => {
    const { page } = program;
    const tries: Work[] = [];
    for (let i = 0; i < TRIES; i++) {
      await page.getByRole('heading', { level: 1, name: 'Shelf' }).waitFor();
      await page.locator('.card-link').first().waitFor();
      await page.waitForTimeout(500);
      tries.push(
        workOf(
          await traced(session, async () => {
            await openYears(page);
            // What is drawn right after belongs to it.
            await page.waitForTimeout(300);
          }),
        ),
      );
      expect(await page.locator('.timeline').first().getAttribute('class')).toContain('timeline-windowed');
      await link(page, /^Stylus Daybook$/)
        .first()
        .click();
      // The window holds the page that it showed last; a new one has to read all of it.
      await page.reload();
    }
    console.table(
      tries.map(({ all, longestTask }) => ({ all: all.toFixed(0), longest: longestTask.toFixed(0) })),
    );
    const longest = tries.map(({ longestTask }) => longestTask).toSorted((a, b) => a - b);
    expect(longest[0]).toBeLessThan(LONG_TASK_MS);
    expect(longest[TRIES / 2]).toBeLessThan(MOST_OPENING_MS);
  }, 300_000);

  it('scroll without a stutter', async () => {
    const { page } = program;
    await page.locator('.card-link').first().waitFor();
    await openYears(page);
    await page.waitForTimeout(1500);
    await page.locator('.timeline').scrollIntoViewIfNeeded();
    await page.mouse.move(640, 500);
    // Scrolling alone asks for no animation frame; an idle loop marks where each one begins.
    await page.evaluate(() => {
      const tick = (): void => void requestAnimationFrame(tick);
      tick();
    });
    const tries: Frames[] = [];
    for (let i = 0; i < 3; i++) {
      const events = await traced(session, async () => {
        for (let n = 0; n < 60; n++) {
          await page.mouse.wheel(0, 400);
          await page.waitForTimeout(16);
        }
      });
      tries.push({ ...framesOf(events), longestTask: workOf(events).longestTask });
    }
    console.table(tries);
    expect(Math.min(...tries.map(({ count }) => count))).toBeGreaterThan(10);
    expect(Math.min(...tries.map(({ p95 }) => p95))).toBeLessThan(MOST_SCRIPT_MS);
    expect(Math.min(...tries.map(({ longestTask }) => longestTask))).toBeLessThan(LONG_TASK_MS);
  }, 120_000);

  it('take another list of 20,000 plays with progress, and nothing of it when it is stopped', async () => {
    const { page } = program;
    const rows = Array.from({ length: ENTRIES }, (_, n) => `${dayOf(n / ENTRIES)},Another ${n},21`);
    const plays = {
      name: 'plays.csv',
      mimeType: 'text/csv',
      buffer: Buffer.from(`date,title,minutes\n${rows.join('\n')}\n`),
    };
    await page.evaluate(() => window.scrollTo(0, 0));
    await button(page, 'Bring in a play list').click();
    const form = dialog(page, 'Bring in a play list');
    await form.getByLabel('Play list (CSV)').setInputFiles(plays);
    const bring = button(form, /^Bring in 20.000 plays$/);
    await bring.click({ timeout: 60_000 });
    // By script, so that the hand is faster than the machine.
    await page.waitForFunction(() => {
      const stop = [...document.querySelectorAll<HTMLButtonElement>('.job-inside button')].at(0);
      const bar = document.querySelector<HTMLProgressElement>('.job-inside progress');
      if (stop === undefined || bar === null || bar.value <= 0) return false;
      stop.click();
      return true;
    });
    await bring.waitFor({ timeout: 60_000 });
    await button(form, 'Cancel').click();
    await form.waitFor({ state: 'detached' });
    await expect
      .poll(() => page.locator('.timeline').first().locator('li').first().getAttribute('aria-setsize'))
      .toBe(String(ENTRIES + 2 * PICTURES - 1));
    expect(program.troubles).toEqual([]);
  }, 120_000);
});
