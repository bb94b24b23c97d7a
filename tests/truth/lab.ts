import { comparePair } from '../../core/index.ts';
export { ENGINE_VERSION } from '../../core/version.ts';
import { throughFile } from '../../fixtures/render/encode.ts';
import type { Rendered } from '../../fixtures/render/camera.ts';
import type { FrontSpec } from '../../fixtures/render/front.ts';
import { randomFrontPair, type FrontPairOptions } from '../../fixtures/render/front-random.ts';
import { randomFrontVaried, type VariedFrontOptions } from '../../fixtures/render/front-varied.ts';
import type { ComparisonReport, Measured } from '../../shared/index.ts';
import { widthBounds } from './bound.ts';

/** Where the stated bars hold: R up to 25 um, blur up to 2 um, 1.3 um/px or finer. */
const BARS: FrontPairOptions = { largestRadiusUm: 25, blurSigmaUm: [1, 2], umPerPx: [0.5, 1.3] };
const SECOND_BARS: VariedFrontOptions = { largestRadiusUm: 25, blurSigmaUm: [1, 2], umPerPx: [0.5, 1.3] };

/**
 * The laboratory: rendered pairs with known truth through the whole engine. Two renderers that share no construction
 * with each other nor with the measuring core, so agreement means something; still renderers, not a microscope.
 */
export type Condition = { readonly name: string; readonly share: number } & (
  { readonly options: FrontPairOptions } | { readonly second: VariedFrontOptions }
);

export const CONDITIONS: readonly Condition[] = [
  { name: 'easy, backlit', share: 0.14, options: { easy: true } },
  {
    name: 'backlit, R to 25',
    share: 0.2,
    options: { light: 'backlit', ...BARS, jpegQuality: 'none', sharpening: [0, 0] },
  },
  {
    name: 'backlit, sharpened, JPEG',
    share: 0.12,
    options: { light: 'backlit', ...BARS, sharpening: [0.3, 0.9], jpegQuality: [75, 88] },
  },
  { name: 'backlit, R to 70', share: 0.1, options: { light: 'backlit' } },
  {
    name: 'backlit, baseline worn 5-9',
    share: 0.08,
    options: { light: 'backlit', ...BARS, baselineFlatsUm: [5, 9] },
  },
  {
    name: 'backlit, unchanged',
    share: 0.1,
    options: { light: 'backlit', ...BARS, unchanged: true },
  },
  { name: 'ring-lit', share: 0.08, options: { light: 'ring', ...BARS, laterFlatsUm: [8, 17] } },
  {
    name: 'ring-lit, unchanged',
    share: 0.04,
    options: { light: 'ring', ...BARS, unchanged: true },
  },
  {
    name: 'troubles, backlit',
    share: 0.06,
    options: { light: 'backlit', troubles: true, ...BARS },
  },
  {
    name: 'troubles, ring-lit',
    share: 0.03,
    options: { light: 'ring', troubles: true, ...BARS },
  },
  { name: 'chip, backlit', share: 0.03, options: { light: 'backlit', chip: true, ...BARS } },
  {
    name: 'residue, backlit',
    share: 0.03,
    options: { light: 'backlit', residue: true, ...BARS },
  },
  { name: 'second renderer, backlit', share: 0.08, second: { light: 'backlit', ...SECOND_BARS } },
  { name: 'second renderer, backlit, whole range', share: 0.06, second: { light: 'backlit' } },
  {
    name: 'second renderer, backlit, unchanged',
    share: 0.08,
    second: { light: 'backlit', ...SECOND_BARS, unchanged: true },
  },
  {
    name: 'second renderer, ring-lit',
    share: 0.08,
    second: { light: 'ring', ...SECOND_BARS, laterFlatsUm: [8, 17] },
  },
  {
    name: 'second renderer, ring-lit, unchanged',
    share: 0.08,
    second: { light: 'ring', ...SECOND_BARS, unchanged: true, laterFlatsUm: [8, 17] },
  },
  {
    name: 'solid under lamps',
    share: 0.08,
    second: { light: 'solid', ...SECOND_BARS, laterFlatsUm: [8, 17] },
  },
  {
    name: 'solid under lamps, unchanged',
    share: 0.06,
    second: { light: 'solid', ...SECOND_BARS, unchanged: true, laterFlatsUm: [8, 17] },
  },
  {
    name: 'wide light behind',
    share: 0.08,
    second: { light: 'wide', ...SECOND_BARS, laterFlatsUm: [6, 17] },
  },
  {
    name: 'wide light behind, unchanged',
    share: 0.06,
    second: { light: 'wide', ...SECOND_BARS, unchanged: true, laterFlatsUm: [6, 17] },
  },
  { name: 'second renderer, chip', share: 0.03, second: { light: 'backlit', ...SECOND_BARS, chip: true } },
  {
    name: 'second renderer, residue',
    share: 0.03,
    second: { light: 'backlit', ...SECOND_BARS, residue: true },
  },
];

export type Reading = {
  truth: number;
  value: number;
  expanded: number;
  detected: boolean;
  limit: number;
  /** smallest standard deviation that the light of the pair allows for the width, um; null where it is not known */
  bound: number | null;
};
export type Trial = {
  condition: string;
  seed: number;
  refused: string | null;
  baseline: Reading[];
  later: Reading[];
  change: Reading[];
  rotationError: number;
  /** stated, k = 2, degrees */
  rotationExpanded: number;
  areaRatio: number | null;
  suspicions: string[];
  warnings: string[];
  ms: number;
};

/** What the laboratory asks of a pair, whichever renderer drew it. */
export type LabTruth = {
  umPerPx: number;
  flats: { left: { widthUm: number }; right: { widthUm: number } };
};
export type LabPair = {
  baseline: Rendered<LabTruth>;
  later: Rendered<LabTruth>;
  truth: { rotationDeg: number; areaLostUm2: number };
  /** what the first renderer drew it from: the bound is computed from this */
  specs?: { baseline: FrontSpec; later: FrontSpec };
};

const control = { progress: () => undefined, check: () => undefined, now: () => performance.now() };

export async function trial(condition: Condition, seed: number): Promise<Trial> {
  const pair: LabPair =
    'second' in condition
      ? randomFrontVaried(seed, condition.second)
      : randomFrontPair(seed, condition.options);
  return judge(condition.name, seed, pair);
}

/** The engine's answer to one pair, beside the truth. */
export async function judge(condition: string, seed: number, pair: LabPair): Promise<Trial> {
  const { baseline, later } = pair;
  const report: ComparisonReport = await comparePair(
    {
      view: 'front',
      // through the camera's own file format, so that JPEG does what it does
      baseline: await throughFile(baseline),
      later: await throughFile(later),
      baselineScale: { umPerPx: baseline.truth.umPerPx, standardUmPerPx: null },
      laterScale: { umPerPx: later.truth.umPerPx, standardUmPerPx: null },
    },
    control,
  );
  const out: Trial = {
    condition,
    seed,
    refused: report.ok ? null : report.reason.code,
    baseline: [],
    later: [],
    change: [],
    rotationError: 0,
    rotationExpanded: 0,
    areaRatio: null,
    suspicions: [],
    warnings: report.warnings?.map((w) => w.code) ?? [],
    ms: report.timingMs ?? 0,
  };
  if (!report.ok) return out;
  const none = { left: null, right: null };
  const [ofBaseline, ofLater] = pair.specs
    ? widthBounds([pair.specs.baseline, pair.specs.later])
    : [none, none];
  for (const side of ['left', 'right'] as const) {
    const f = report.flats[side];
    const read = (truth: number, m: Measured, bound: number | null): Reading => ({
      truth,
      bound,
      value: m.value,
      expanded: m.expanded,
      detected: f.detected,
      limit: f.detectionLimitUm,
    });
    const [b, l] = [baseline.truth.flats[side].widthUm, later.truth.flats[side].widthUm];
    out.baseline.push(read(b, f.baselineUm, ofBaseline[side]));
    out.later.push(read(l, f.laterUm, ofLater[side]));
    out.change.push(read(l - b, f.changeUm, null));
  }
  out.rotationError =
    ((((report.registration.rotationDeg - pair.truth.rotationDeg + 180) % 360) + 360) % 360) - 180;
  out.rotationExpanded = report.registration.rotationDegExpanded ?? 0;
  if (pair.truth.areaLostUm2 > 3) out.areaRatio = report.contour.areaLostUm2.value / pair.truth.areaLostUm2;
  out.suspicions = report.suspicions.map(
    (s) => `${s.kind} ${s.depthUm.toFixed(1)} um at ${s.angleDeg.toFixed(0)} deg`,
  );
  return out;
}

const rms = (list: number[]): number =>
  Math.sqrt(list.reduce((s, v) => s + v * v, 0) / Math.max(1, list.length));
const mean = (list: number[]): number => list.reduce((s, v) => s + v, 0) / Math.max(1, list.length);
const middle = (list: number[]): number => [...list].sort((a, b) => a - b)[list.length >> 1] ?? NaN;

export type Row = {
  condition: string;
  pairs: number;
  refused: number;
  rmsUm: number;
  /** Of the bounds of the same widths (`bound.ts`), rms; NaN where none is known. */
  boundRmsUm: number;
  /** Errors of the widths that have a bound, rms, over the bounds' rms. */
  rmsOverBound: number;
  /** How many widths that are. */
  bounded: number;
  biasUm: number;
  worstUm: number;
  coverage: number;
  medianU: number;
  medianLimit: number;
  falseAlarms: string;
  found: string;
  /** Found of later flats within half a um of 5, 6, 8 and 10 um. */
  power: readonly string[];
  /** Root-mean-square of error over stated standard uncertainty (half of U), widths from 5 um up: 1 is honest. */
  errorOverU: number;
  chips: number;
  residues: number;
  rotationRmsDeg: number;
  /** Share of the stated turns that hold the true one. */
  rotationCoverage: number;
  areaMedianError: number;
  medianMs: number;
};

/** Widths from 5 um up for rms and bias (bars count there); coverage over every answered width and change. */
export function summarise(condition: string, trials: Trial[]): Row {
  const answered = trials.filter((t) => t.refused === null);
  const widths = answered.flatMap((t) => [...t.baseline, ...t.later]);
  const all = [...widths, ...answered.flatMap((t) => t.change)];
  const errors = widths.filter((r) => r.truth >= 5).map((r) => r.value - r.truth);
  const bounded = widths.flatMap((r) => (r.truth >= 5 && r.bound !== null ? [{ ...r, bound: r.bound }] : []));
  const boundRms = bounded.length > 0 ? rms(bounded.map((r) => r.bound)) : NaN;
  const later = answered.flatMap((t) => t.later);
  const clean = later.filter((r) => r.truth === 0);
  const worn = later.filter((r) => r.truth >= 6);
  return {
    condition,
    pairs: trials.length,
    refused: trials.length - answered.length,
    rmsUm: rms(errors),
    boundRmsUm: boundRms,
    rmsOverBound: rms(bounded.map((r) => r.value - r.truth)) / boundRms,
    bounded: bounded.length,
    biasUm: mean(errors),
    worstUm: Math.max(0, ...errors.map(Math.abs)),
    coverage: all.filter((r) => Math.abs(r.value - r.truth) <= r.expanded).length / Math.max(1, all.length),
    medianU: middle(widths.filter((r) => r.truth >= 5).map((r) => r.expanded)),
    medianLimit: middle(later.map((r) => r.limit)),
    falseAlarms: `${clean.filter((r) => r.detected).length}/${clean.length}`,
    power: [5, 6, 8, 10].map((w) => {
      const near = later.filter((r) => Math.abs(r.truth - w) <= 0.5);
      return `${near.filter((r) => r.detected).length}/${near.length}`;
    }),
    errorOverU: rms(
      widths.filter((r) => r.truth >= 5 && r.expanded > 0).map((r) => (2 * (r.value - r.truth)) / r.expanded),
    ),
    found: `${worn.filter((r) => r.detected).length}/${worn.length}`,
    chips: answered.filter((t) => t.suspicions.some((s) => s.startsWith('chip'))).length,
    residues: answered.filter((t) => t.suspicions.some((s) => s.startsWith('residue'))).length,
    rotationRmsDeg: rms(answered.map((t) => t.rotationError)),
    rotationCoverage:
      answered.filter((t) => Math.abs(t.rotationError) <= t.rotationExpanded).length /
      Math.max(1, answered.length),
    areaMedianError: middle(
      answered.flatMap((t) => (t.areaRatio === null ? [] : [Math.abs(t.areaRatio - 1)])),
    ),
    medianMs: middle(answered.map((t) => t.ms)),
  };
}
