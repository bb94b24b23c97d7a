import { describe, expect, it } from 'vitest';
import { parseRoute, writeRoute } from '../../renderer/state/route.ts';
import {
  countingText,
  progressText,
  readingText,
  resultSentences,
  small,
} from '../../renderer/study/words.ts';
import type { Capture, Counted, StudySeen } from '../../shared/index.ts';
import { captureRow } from './fake-host.ts';
import { measured } from './reports.ts';

/** What the screens of a repeatability study say. */
const plain = (text: string): string => text.replaceAll('\u00a0', ' ');
const spread = (single: number, fit = 0.1) => ({ count: 5, mean: 9, single, degreesOfFreedom: 4, fit });
const result = { count: 5, left: spread(0.4), right: spread(0.3), radius: spread(0.2) };
const ids = ['0123456789abcdef0123', 'abcdef0123456789abcd'];
const study = {
  id: ids[0],
  stylusId: ids[1],
  day: '2024-03-02',
  who: 'A. Listener',
  microscope: 'my scope',
  notes: '',
  counts: true,
  createdAt: '2024-03-02T10:00:00Z',
  binnedAt: null,
};
const seen: StudySeen = { study, stylusName: 'One', pictures: 5, readings: 5, result };

describe('what a study says', () => {
  it('is one reading’s scatter first, then what follows for a width and a change with t(95.45 %, 4) = 2.87', () => {
    const [first, second, third] = resultSentences(result, 'um').map(plain);
    expect(first).toContain('scatters by 0.4 µm on the left wall and 0.3 µm on the right wall');
    // 2.87 s and 2.87 sqrt(2) s of the wider wall, two digits.
    expect(second).toContain('good to ± 1.1 µm');
    expect(second).toContain('has to exceed 1.6 µm');
    expect(third).toContain('would scatter by 0.1 µm; the rest is placing, focus and light');
  });

  it('says when only one wall, or none, can be read, and when placing adds nothing', () => {
    const one = resultSentences({ ...result, right: null }, 'um').join(' ');
    expect(one).toContain('taken to scatter like the left one');
    expect(resultSentences({ ...result, left: null, right: null }, 'um')[0]).toContain(
      'No wall shows a flat',
    );
    const quiet = { ...result, left: spread(0.05), right: spread(0.06) };
    expect(resultSentences(quiet, 'um').join(' ')).toContain('your placing adds nothing');
  });

  it('counts up to five, and in the other unit', () => {
    expect(progressText(3)).toBe('3 of at least 5');
    expect(progressText(6)).toContain('6 readings');
    expect(plain(small(25.4, 'mil'))).toBe('1 mil');
  });

  it('says whether it counts, with whom, and why not', () => {
    const group: Counted = {
      microscope: 'my scope',
      who: '',
      studyIds: [study.id],
      given: null,
      test: null,
      problem: null,
    };
    expect(countingText(seen, [])).toContain('does not count yet');
    expect(countingText(seen, [group])).toContain('every examination and comparison of front views');
    const pooled = { ...group, studyIds: ids, test: { ratio: 1.4, limit: 9.6 } };
    expect(countingText(seen, [pooled])).toMatch(/pooled with 1 other.*1\.4.*9\.6/);
    expect(countingText(seen, [{ ...group, problem: 'Too few.' }])).toBe('Too few.');
  });
});

describe('one picture’s reading', () => {
  const flat = (value: number, detected: boolean) => ({
    widthUm: measured(value, 0.5),
    decisionThresholdUm: 4,
    detectionLimitUm: 5,
    detected,
  });
  const row = (left: boolean, right: boolean): Capture => ({
    ...captureRow(ids[1]),
    examination: {
      ok: true,
      reportVersion: 1,
      engineVersion: 'test',
      sharpness: { edgeUm: 4 },
      tip: { radiusUm: measured(18, 0.3), arcDeg: 80 },
      flats: { left: flat(9.123, left), right: flat(1.2, right) },
      suspicions: [],
      warnings: [],
      timingMs: 0,
    },
  });

  it('has a verdict in words, whatever came of it', () => {
    expect(readingText(captureRow(ids[1]), 'um').verdict).toBe('Not read yet');
    const good = readingText(row(true, true), 'um');
    expect([plain(good.left), good.verdict, good.good]).toEqual(['9.12 µm', 'Good', true]);
    const one = readingText(row(true, false), 'um');
    expect([one.right, one.verdict]).toEqual([
      'no flat seen',
      'Good for the left wall; no flat is seen on the right one',
    ]);
    expect(readingText(row(false, false), 'um').good).toBe(false);
    const refused = {
      ...captureRow(ids[1]),
      examination: { ok: false as const, reason: { code: 'too-blurred' as const, message: 'Focus again.' } },
    };
    expect(readingText(refused, 'um').verdict).toBe('Not used: Focus again.');
  });
});

describe('the addresses', () => {
  it('lead back to where they came from', () => {
    for (const route of [
      { screen: 'studies', stylusId: ids[0] },
      { screen: 'study', stylusId: ids[0], studyId: ids[1] },
      { screen: 'camera', stylusId: ids[0], view: 'front', studyId: ids[1] },
      { screen: 'camera', stylusId: ids[0], view: 'side' },
    ] as const)
      expect(parseRoute(writeRoute(route))).toEqual(route);
    expect(parseRoute(`#/camera/${ids[0]}/front/<b>`)).toEqual({ screen: 'shelf' });
  });
});
