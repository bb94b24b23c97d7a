import { describe, expect, it } from 'vitest';
import {
  OTHER_VIEWS,
  type OtherRow,
  otherTable,
  otherTrial,
  type OtherTrial,
  summariseOther,
} from '../truth/other-views.ts';

/** The short form of the laboratory's rows: one or two pictures of each kind, so that the long run cannot rot unseen. */
describe('rows of single pictures in the laboratory', () => {
  it('come out of both renderers, answered or refused with a reason', async () => {
    const rows: OtherRow[] = [];
    for (const condition of OTHER_VIEWS) {
      const trials: OtherTrial[] = [await otherTrial(condition, 7000)];
      rows.push(summariseOther(condition, trials));
    }
    console.log(otherTable(rows));
    const row = (name: string) => rows.find((r) => r.condition === name)!;
    expect(rows.map((r) => r.pictures)).toEqual(OTHER_VIEWS.map(() => 1));
    expect(row('end-on, burnt out').refused).toBe(1);
    for (const name of ['cantilever, backlit', 'cantilever, ring-lit', 'cantilever, straight']) {
      expect(row(name).refused, name).toBe(0);
      expect(row(name).worst, name).toBeLessThan(0.3);
    }
    expect(row('cantilever, second renderer').worst).toBeLessThan(0.5);
    expect(row('end-on facets').worst).toBeLessThan(2);
    expect(row('end-on, unworn').falseAlarms).toBe(0);
    expect(row('ruled slide').worst).toBeLessThan(0.05);
  }, 300_000);

  it('count errors, coverage, alarms and misses as they are', () => {
    const trial = (value: number, falseAlarms: string[] = [], missed: string[] = []): OtherTrial => ({
      other: true,
      condition: 'end-on facets',
      seed: 1,
      refused: null,
      values: [{ truth: 10, value, expanded: 1 }],
      falseAlarms,
      missed,
      ms: 1,
    });
    const condition = OTHER_VIEWS.find((c) => c.name === 'end-on facets')!;
    const refused = { ...trial(0), values: [], refused: 'too-blurred' };
    const row = summariseOther(condition, [
      trial(10.5),
      trial(8, ['facet']),
      trial(10, [], ['facet']),
      refused,
    ]);
    // errors 0.5, -2, 0: mean -0.5, rms sqrt(4.25 / 3), two of three within 1
    expect(row).toMatchObject({ pictures: 4, refused: 1, values: 3, worst: 2, falseAlarms: 1, missed: 1 });
    expect(row.bias).toBeCloseTo(-0.5, 12);
    expect(row.rms).toBeCloseTo(Math.sqrt(4.25 / 3), 12);
    expect(row.coverage).toBeCloseTo(2 / 3, 12);
  });
});
