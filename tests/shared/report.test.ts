import { describe, expect, it } from 'vitest';
import type { z } from 'zod';
import {
  cantileverReportSchema,
  comparisonReportSchema,
  examinationReportSchema,
  measuredSchema,
  REASON_CODES,
  REPORT_VERSION,
  refuse,
} from '../../shared/index.ts';

/**
 * The machine-readable report as others read it: which names are promised, in which place. A promise may be added to,
 * never renamed, so every name below has to be there and every one of them has to be demanded.
 */
const measured = { value: 0, expanded: 0 };
const versions = { reportVersion: 1, engineVersion: '0.1.0' };
const pair = {
  baselineUm: measured,
  laterUm: measured,
  changeUm: measured,
  decisionThresholdUm: 0,
  detectionLimitUm: 0,
  detected: false,
};
const single = { widthUm: measured, decisionThresholdUm: 0, detectionLimitUm: 0, detected: false };

const comparison = {
  ok: true,
  id: 'pair-1',
  ...versions,
  registration: { rotationDeg: 0, scaleRatio: 1, residualUm: 0 },
  sharpness: { baselineEdgeUm: 0, laterEdgeUm: 0 },
  tip: { radiusUm: measured, arcDeg: 0 },
  contour: {
    areaLostUm2: measured,
    areaGainedUm2: measured,
    largestRecessionUm: measured,
    largestGrowthUm: measured,
  },
  flats: { left: pair, right: pair },
  suspicions: [{ kind: 'chip', angleDeg: 0, sizeUm: 0, depthUm: 0 }],
  warnings: [{ code: 'pose', message: 'x' }],
  timingMs: 0,
};
const examination = {
  ok: true,
  ...versions,
  sharpness: { edgeUm: 0 },
  tip: { radiusUm: measured, arcDeg: 0 },
  flats: { left: single, right: single },
  facets: [{ side: 'left', alongUm: measured, acrossUm: measured }],
  suspicions: [],
  warnings: [],
  timingMs: 0,
};
const cantilever = {
  ok: true,
  ...versions,
  cantilever: { bendAngleDeg: measured, bendToward: 'left', straightnessUm: measured },
  suspicions: [],
  warnings: [],
  timingMs: 0,
};

const reports: { name: string; schema: z.ZodType; example: object; optional: string[] }[] = [
  { name: 'compare', schema: comparisonReportSchema, example: comparison, optional: ['id'] },
  // End-on, an examination measures facets and no outline; in a front view it is the other way round.
  {
    name: 'examine',
    schema: examinationReportSchema,
    example: examination,
    optional: ['tip', 'flats', 'facets'],
  },
  { name: 'cantilever', schema: cantileverReportSchema, example: cantilever, optional: [] },
];

type Path = (string | number)[];
function leavesAndBranches(value: unknown, at: Path = []): Path[] {
  if (typeof value !== 'object' || value === null) return [at];
  const below = Object.entries(value).flatMap(([key, item]) =>
    leavesAndBranches(item, [...at, Array.isArray(value) ? Number(key) : key]),
  );
  return at.length === 0 ? below : [at, ...below];
}
function without(value: unknown, path: Path): unknown {
  const copy = structuredClone(value) as Record<string | number, unknown>;
  const owner = path.slice(0, -1).reduce((o, key) => o[key] as Record<string | number, unknown>, copy);
  delete owner[path.at(-1) as string];
  return copy;
}
const accepts = (schema: z.ZodType, value: unknown): boolean => schema.safeParse(value).success;

describe.each(reports)('the report of $name', ({ schema, example, optional }) => {
  it('is accepted and loses nothing on the way, also through JSON', () => {
    expect(schema.parse(JSON.parse(JSON.stringify(example)))).toEqual(example);
  });

  it('demands every promised name', () => {
    const names = leavesAndBranches(example).filter((path) => typeof path.at(-1) === 'string');
    const needed = names.filter((path) => !optional.includes(path.join('.')));
    expect(needed.length).toBeGreaterThan(10);
    expect(
      needed.filter((path) => accepts(schema, without(example, path))).map((path) => path.join('.')),
    ).toEqual([]);
    for (const name of optional) expect(accepts(schema, without(example, [name])), name).toBe(true);
  });

  it('may say more than was promised', () => {
    expect(accepts(schema, { ...example, later: 'addition' })).toBe(true);
  });

  it('holds finite numbers only: JSON has no other', () => {
    expect(accepts(schema, { ...example, timingMs: Number.NaN })).toBe(false);
    expect(accepts(schema, { ...example, timingMs: Number.POSITIVE_INFINITY })).toBe(false);
  });

  it('names its version', () => {
    expect(REPORT_VERSION).toBe(1);
    expect(accepts(schema, { ...example, reportVersion: 2 })).toBe(false);
  });

  it.each(REASON_CODES)('can refuse: %s', (code) => {
    const refused = { ...refuse(code, 'What to do next.'), id: 'pair-1' };
    expect(schema.parse(JSON.parse(JSON.stringify(refused)))).toEqual(refused);
  });

  it('refuses for a known reason and with a sentence, or not at all', () => {
    expect(accepts(schema, { ok: false, reason: { code: 'no-idea', message: 'x' } })).toBe(false);
    expect(accepts(schema, { ok: false, reason: { code: 'failed' } })).toBe(false);
    expect(accepts(schema, { ok: false })).toBe(false);
    expect(accepts(schema, {})).toBe(false);
  });
});

describe('a measured value', () => {
  it('has a finite best estimate and an uncertainty that is not negative', () => {
    expect(accepts(measuredSchema, { value: -0.4, expanded: 0.6 })).toBe(true);
    expect(accepts(measuredSchema, { value: 3, expanded: 1, low: 1.5, high: 3.8 })).toBe(true);
    for (const bad of [
      { value: 1 },
      { value: 1, expanded: -0.1 },
      { value: null, expanded: 1 },
      { value: '1', expanded: 1 },
      { value: Number.NaN, expanded: 1 },
      { value: 1, expanded: Number.POSITIVE_INFINITY },
    ])
      expect(accepts(measuredSchema, bad), JSON.stringify(bad)).toBe(false);
  });
});

describe('the reasons for no answer', () => {
  it('are the fourteen of the contract', () => {
    expect([...REASON_CODES].toSorted()).toEqual(
      [
        'unreadable-image',
        'tip-not-found',
        'tip-outside-frame',
        'cantilever-not-found',
        'too-blurred',
        'too-coarse',
        'over-exposed',
        'not-the-same-part',
        'views-differ',
        'pose-differs',
        'registration-failed',
        'scale-missing',
        'timed-out',
        'failed',
      ].toSorted(),
    );
  });
});
