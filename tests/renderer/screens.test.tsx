import { renderToStaticMarkup } from 'react-dom/server';
import { describe, expect, it } from 'vitest';
import { ComparisonNumbers } from '../../renderer/bench/numbers.tsx';
import { answerBefore } from '../../renderer/stylus/captures.ts';
import { flatPoints } from '../../renderer/stylus/chart-data.ts';
import { FlatChart } from '../../renderer/stylus/flat-chart.tsx';
import { timeline } from '../../renderer/stylus/timeline-data.ts';
import { comparisonText } from '../../renderer/stylus/timeline-row.tsx';
import type { StylusPage } from '../../shared/index.ts';
import { captureRow, comparisonRow, entryRow, pageOf, stylusRow } from './fake-host.ts';
import { answered, flatPair, measured } from './reports.ts';

const text = (markup: string): string =>
  markup
    .replaceAll('\u00a0', ' ')
    .replaceAll(/<[^>]+>/g, '|')
    .replaceAll(/\|+/g, '|');

function worn(): StylusPage {
  const stylus = stylusRow({ limitUm: 12 });
  const on = (wall: string) => ({ taken: { wall, offset: null, source: 'person' as const } });
  const baseline = captureRow(stylus.id, { isBaseline: true, ...on('2024-01-06') });
  const later = captureRow(stylus.id, on('2024-07-01'));
  const last = captureRow(stylus.id, on('2025-01-01'));
  const first = answered(flatPair(measured(6.4, 0.7)), flatPair(measured(0, 3)));
  const second = answered(flatPair(measured(9.49, 0.55)), flatPair(measured(8.76, 0.56)));
  const old = answered(flatPair(measured(30, 1)), flatPair(measured(30, 1)));
  return pageOf(
    {
      styluses: [stylus],
      captures: [baseline, later, last],
      comparisons: [
        comparisonRow(stylus.id, baseline.id, later.id, first),
        comparisonRow(stylus.id, baseline.id, last.id, old, { createdAt: '2024-12-01T00:00:00Z' }),
        comparisonRow(stylus.id, baseline.id, last.id, second, { hoursAtLater: 505 }),
        comparisonRow(stylus.id, baseline.id, later.id, {
          ok: false,
          reason: {
            code: 'too-blurred',
            message: 'The later picture is too blurred. Focus and take it again.',
          },
        }),
      ],
      entries: [
        entryRow(stylus.id, '2024-06-30', 140),
        entryRow(stylus.id, '2024-08-01', null),
        entryRow(stylus.id, '2024-12-30', 365),
      ],
    },
    stylus.id,
  );
}

describe('points of the chart', () => {
  it('takes the newest answer of each picture, at the hours of its day', () => {
    const points = flatPoints(worn()).filter((point) => point.side === 'left');
    expect(points.map((point) => [point.hours, point.width.value])).toEqual([
      [0, 0],
      [140, 6.4],
      [505, 9.49],
    ]);
  });

  it('leaves out what counts in per cent of the shank', () => {
    const page = worn();
    const percent = page.comparisons.map((one) =>
      one.report.ok ? { ...one, report: { ...one.report, unit: 'percent-of-shank' as const } } : one,
    );
    expect(flatPoints({ ...page, comparisons: percent })).toEqual([]);
  });
});

describe('the chart', () => {
  const chart = (part: Partial<Parameters<typeof FlatChart>[0]> = {}): string =>
    renderToStaticMarkup(
      <FlatChart
        points={flatPoints(worn())}
        course={null}
        unit="um"
        width={760}
        limitUm={12}
        practiceHours={[400, 1000]}
        hoursKnown
        {...part}
      />,
    );

  it('marks what was not detected as a limit, never as a value at zero', () => {
    const markup = chart();
    // Baseline left and right, and the right wall of the second look.
    expect(markup.match(/mark-below/g)).toHaveLength(3);
    expect(text(markup)).toContain('not detected, below 5.2 µm');
  });

  it('tells left and right apart by shape, in the legend too', () => {
    const markup = chart();
    // One shape in the legend, one for each detected point.
    expect(markup.match(/<circle/g)).toHaveLength(1 + 2);
    expect(markup.match(/mark-open/g)).toHaveLength(1 + 1);
  });

  it('has a table twin with every value and its uncertainty', () => {
    const said = text(chart());
    expect(said).toContain('1 Jan 2025|505 ± 20 h|9.49 ± 0.55 µm|8.76 ± 0.56 µm');
    expect(said).toContain('1 Jul 2024|140.0 ± 5.6 h|6.40 ± 0.70 µm|not detected, below 5.2 µm');
  });

  it('draws every point of a history of thousands in a few shapes, and makes its table when it is opened', () => {
    const [one] = flatPoints(worn()).filter(({ detected }) => detected);
    const points = Array.from({ length: 4000 }, (_, i) => ({
      ...one,
      captureId: `picture${i >> 1}`,
      side: i % 2 === 0 ? ('left' as const) : ('right' as const),
      hours: 1 + i / 10,
      detected: i % 8 > 1,
    }));
    const markup = chart({ points });
    expect(markup.match(/<(path|circle)/g)!.length).toBeLessThan(60);
    // The legend has one of each as well.
    const drawn = (kind: string): number =>
      [...markup.matchAll(/<path d="([^"]+)" class="([^"]+)"/g)]
        .filter(([, , name]) => name === kind)
        .reduce((most, [, d]) => Math.max(most, d.split('z').length - 1), 0);
    expect([drawn('mark-solid'), drawn('mark-open')]).toEqual([1500, 1500]);
    const below = [...markup.matchAll(/mark-below"><path d="([^"]+)"/g)].map(
      ([, d]) => d.split('v12').length - 1,
    );
    expect(below).toEqual([500, 500]);
    expect(markup).not.toMatch(/NaN|Infinity/);
    expect(text(markup)).toContain('The measured widths as a table');
    expect(markup).toContain('<tbody></tbody>');
    expect(chart()).not.toContain('<tbody></tbody>');
  });

  it('calls the band common practice and the line the person’s own', () => {
    expect(text(chart())).toContain('common practice 400 to 1\u202f000 h, no standard');
    expect(chart()).toContain('your limit');
    expect(chart({ limitUm: null })).not.toContain('your limit');
  });

  it('says when the hours count from the daybook’s start only', () => {
    expect(text(chart({ hoursKnown: false }))).toContain('earlier hours unknown');
  });

  it('keeps every coordinate finite and inside the drawing', () => {
    const numbers = [...chart({ width: 320 }).matchAll(/ (?:cx|x1|x2|x)="([^"]+)"/g)].map((found) =>
      Number(found[1]),
    );
    expect(numbers.length).toBeGreaterThan(10);
    for (const number of numbers) {
      expect(Number.isFinite(number)).toBe(true);
      expect(number).toBeLessThanOrEqual(320);
    }
  });

  it('shows mil to people who use mil', () => {
    expect(text(chart({ unit: 'mil' }))).toContain('0.374 ± 0.022 mil');
  });
});

describe('the numbers', () => {
  const numbers = (part: Parameters<typeof answered>[2] = {}): string =>
    text(
      renderToStaticMarkup(
        <ComparisonNumbers
          unit="um"
          report={answered(
            flatPair(measured(9.49, 0.55), {
              budget: [
                {
                  source: 'scale',
                  standard: 0.031,
                  type: 'B',
                  degreesOfFreedom: null,
                  note: 'default 0.3 %',
                },
              ],
            }),
            flatPair(measured(1, 3)),
            part,
          )}
        />,
      ),
    );

  it('give value, change, limit and budget', () => {
    const said = numbers();
    expect(said).toContain('Left wall|9.49 ± 0.55 µm');
    expect(said).toContain('Right wall|not detected, below 5.2 µm');
    expect(said).toContain('Surely seen from|5.1 µm');
    expect(said).toContain('scale|default 0.3 %|0.031|B');
    expect(said).toContain('Tip radius|17.71 ± 0.41 µm|from an arc of 68°');
    expect(said).toContain('no growth above its threshold');
  });

  it('show a suspicion as one, and warnings as they come', () => {
    const said = numbers({
      suspicions: [{ kind: 'chip', angleDeg: 88, sizeUm: 7.2, depthUm: 3.1 }],
      warnings: [{ code: 'x', message: 'The two pictures differ in sharpness.' }],
    });
    expect(said).toContain('Chip| at 88°: 7.2 µm long, 3.1 µm deep. ');
    expect(said).toContain('The two pictures differ in sharpness.');
  });

  it('say so when no scale is known, and show no µm then', () => {
    const said = numbers({ unit: 'percent-of-shank' });
    expect(said).toContain('9.49 ± 0.55 % of shank');
    expect(said.replaceAll(/no µm|in µm/g, '')).not.toContain('µm');
  });
});

describe('the timeline', () => {
  it('shows marks on the day they were seen, but not what was rejected', () => {
    const page = worn();
    const [capture] = page.captures;
    const mark = (id: string, state: 'confirmed' | 'rejected') => ({
      id,
      createdAt: '',
      binnedAt: null,
      stylusId: page.stylus.id,
      view: capture.view,
      captureId: capture.id,
      kind: 'chip' as const,
      state,
      frame: 'tip' as const,
      unit: 'um' as const,
      shape: { type: 'point' as const, at: [0, 18] as [number, number] },
      size: null,
      note: '',
      seenBy: '',
      seenOn: '2024-07-01',
      proposed: null,
    });
    const marks = [mark('mark00000001', 'confirmed'), mark('mark00000002', 'rejected')];
    const items = timeline({ ...page, marks }).filter((item) => item.kind === 'mark');
    expect(items.map(({ id, date }) => `${date} ${id}`)).toEqual(['2024-07-01 mark00000001']);
  });

  it('runs newest first, a comparison above its picture', () => {
    const kinds = timeline(worn()).map((item) => `${item.date} ${item.kind}`);
    expect(kinds.slice(0, 3)).toEqual([
      '2025-01-01 comparison',
      '2025-01-01 comparison',
      '2025-01-01 capture',
    ]);
    expect(kinds.at(-1)).toBe('2024-01-06 capture');
  });

  it('puts what has no date on top, where it asks for one', () => {
    const page = worn();
    const undated = captureRow(page.stylus.id, { taken: null });
    expect(timeline({ ...page, captures: [...page.captures, undated] })[0].id).toBe(undated.id);
  });

  it('puts 20,000 entries between the rest in order, in well under the tenth of a second that a screen may take', () => {
    const page = worn();
    const entries = Array.from({ length: 20_000 }, (_, i) =>
      entryRow(page.stylus.id, `${2000 + (i % 24)}-0${1 + (i % 9)}-1${i % 10}`, 0.7),
    ).toSorted((a, b) => (a.date < b.date ? -1 : a.date > b.date ? 1 : 0));
    const before = performance.now();
    const items = timeline({ ...page, entries });
    // Ten times the bound, because the machine that tests may be busy.
    expect(performance.now() - before).toBeLessThan(1000);
    expect(items).toHaveLength(20_007);
    const dates = items.map(({ date }) => date ?? '9999');
    expect(dates).toEqual(dates.toSorted().toReversed());
    // On one day entries stay in their order, below what the pictures say.
    const places = new Map(entries.map(({ id }, place) => [id, place]));
    for (const [i, item] of items.slice(1).entries()) {
      if (item.date !== items[i].date) continue;
      expect(places.get(item.id) ?? -1).toBeGreaterThanOrEqual(places.get(items[i].id) ?? -1);
    }
  });

  it('tells a refusal by its sentence', () => {
    const refused = worn().comparisons.at(-1);
    expect(refused && comparisonText(refused, 'um')).toContain('too blurred');
  });
});

describe('limits and changes beside the widths', () => {
  it('gives the baseline its own limit, and the change since the last picture', () => {
    const page = worn();
    const last = page.captures[2];
    const limits = { baselineDecisionThresholdUm: 6.6, baselineDetectionLimitUm: 7.7 };
    const report = answered(
      flatPair(measured(9.49, 0.55), { baselineUm: measured(5, 3), ...limits }),
      flatPair(measured(8.76, 0.56)),
    );
    const before = answerBefore(page, last, report);
    expect(before?.taken).toBe('2024-07-01');
    const shown = text(renderToStaticMarkup(<ComparisonNumbers report={report} unit="um" before={before} />));
    expect(shown).toContain('Baseline|not detected, below 7.7 µm');
    // 9.49 - 6.4 = 3.09 with sqrt(0.55^2 + 0.7^2) = 0.89.
    expect(shown).toContain('Change since 1 Jul 2024|3.09 ± 0.89 µm');
  });

  it('has no change to state for the first later picture', () => {
    const page = worn();
    expect(
      answerBefore(page, page.captures[1], answered(flatPair(measured(6, 1)), flatPair(measured(6, 1)))),
    ).toBeNull();
  });
});
