import { describe, expect, it } from 'vitest';
import { verdictOf } from '../../renderer/firstset/verdict.ts';
import { REPORT_VERSION, type Capture } from '../../shared/index.ts';
import { captureRow } from './fake-host.ts';

/** What each picture of the first set is said to be good for. */
const flat = (limit: number, value = 0) => ({
  widthUm: { value, expanded: 1 },
  decisionThresholdUm: limit / 2,
  detectionLimitUm: limit,
  detected: value > limit / 2,
});
const examined = (left: number, right: number, worn = 0): Capture['examination'] => ({
  ok: true,
  reportVersion: REPORT_VERSION,
  engineVersion: 'test',
  suspicions: [],
  warnings: [],
  timingMs: 1,
  unit: 'um',
  sharpness: { edgeUm: 3 },
  tip: { radiusUm: { value: 18, expanded: 0.5 }, arcDeg: 80 },
  flats: { left: flat(left), right: flat(right, worn) },
});
const refused = (code: 'scale-missing' | 'too-blurred'): Capture['examination'] => ({
  ok: false,
  reason: { code, message: 'The picture is too blurred. Focus on the tip.' },
});
const of = (part: Partial<Capture>) => verdictOf(captureRow('stylus001', part), 'um');

describe('a picture of the first set', () => {
  it('could show a flat of the coarser wall’s limit, rounded up', () => {
    const verdict = of({ examination: examined(5.21, 6.14) });
    expect(verdict.state).toBe('good');
    expect(verdict.sentence).toMatch(/a flat of (6\.2|7)\u00a0µm or more, for a pose within 2°/);
  });

  it('says so when a new stylus is worn already', () => {
    const verdict = of({ examination: examined(5, 6, 9) });
    expect(verdict.state).toBe('partly');
    expect(verdict.sentence).toMatch(/right 9\.0?\u00a0±.*may be no new stylus/);
  });

  it('is good in part without a scale, and not good with the reason of a refusal', () => {
    expect(of({ scale: null, examination: refused('scale-missing') })).toMatchObject({ state: 'partly' });
    expect(of({ examination: refused('too-blurred') })).toEqual({
      state: 'not',
      sentence: 'The picture is too blurred. Focus on the tip.',
    });
    expect(of({ examination: null }).state).toBe('open');
  });

  const measured = (degrees: number, bent = false): Capture['cantilever'] => ({
    ok: true,
    reportVersion: REPORT_VERSION,
    engineVersion: 'test',
    suspicions: bent ? [{ kind: 'bent-cantilever', angleDeg: 0, sizeUm: 0, depthUm: 0 }] : [],
    warnings: [],
    timingMs: 1,
    cantilever: {
      bendAngleDeg: { value: degrees, expanded: 0.3 },
      bendToward: bent ? 'left' : 'none',
      straightnessUm: { value: 3, expanded: 2 },
    },
  });

  it('from the side is good for whichever it shows, cantilever or tip', () => {
    const straight = of({ view: 'side', cantilever: measured(0.1), examination: refused('too-blurred') });
    expect(straight).toMatchObject({ state: 'good' });
    const bent = of({ view: 'side', cantilever: measured(6, true), examination: null });
    expect(bent.state).toBe('partly');
    expect(bent.sentence).toMatch(/^A bent cantilever is suspected/);
    const nothing: Capture['cantilever'] = {
      ok: false,
      reason: { code: 'cantilever-not-found', message: 'No cantilever is in the picture.' },
    };
    expect(of({ view: 'side', cantilever: nothing, examination: examined(5, 6) }).state).toBe('good');
    const neither = of({ view: 'side', cantilever: nothing, examination: refused('too-blurred') });
    expect(neither.sentence).toMatch(/^Neither cantilever nor tip could be measured. No cantilever/);
  });

  it('of the cantilever could show a change of its own doubt, doubled', () => {
    const cantilever = measured(0.2);
    const verdict = of({ view: 'below', cantilever });
    expect(verdict).toMatchObject({ state: 'good' });
    expect(verdict.sentence).toContain('a change of 0.6° or more');
  });
});
