import { measureCantilever, type Control } from '../../../core/index.ts';
import {
  type CantileverOptions,
  randomCantilever,
  randomCantileverSpec,
} from '../../../fixtures/render/cantilever-random.ts';
import type { CantileverTruth } from '../../../fixtures/render/cantilever.ts';
import { throughFile } from '../../../fixtures/render/encode.ts';
import type { CantileverReport } from '../../../shared/index.ts';

/** Rendered cantilevers with known bend, measured as a person would: through the file, with the scale. */
export type CantileverTrial = {
  readonly seed: number;
  readonly light: 'backlit' | 'ring';
  readonly view: 'side' | 'below' | 'above';
  readonly trueDeg: number;
  readonly trueToward: 'left' | 'right' | 'none';
  readonly trueStraightnessUm: number;
  readonly trueDiamond: CantileverTruth['diamond']['state'];
  readonly report: CantileverReport;
};

export const plainControl: Control = { progress: () => {}, check: () => {}, now: () => 0 };

export async function tryCantilever(seed: number, options: CantileverOptions = {}): Promise<CantileverTrial> {
  const spec = randomCantileverSpec(seed, options);
  const picture = await throughFile(randomCantilever(seed, options));
  const { truth } = picture;
  const report = await measureCantilever(
    { view: spec.view, picture, scale: { umPerPx: spec.umPerPx, standardUmPerPx: 0.001 * spec.umPerPx } },
    plainControl,
  );
  return {
    seed,
    light: truth.light,
    view: truth.view,
    trueDeg: truth.bendAngleDeg,
    trueToward:
      truth.bendOnScreen === 'none' ? 'none' : truth.bendOnScreen === 'anticlockwise' ? 'left' : 'right',
    trueStraightnessUm: truth.straightnessUm,
    trueDiamond: truth.diamond.state,
    report,
  };
}

export type CantileverRow = {
  readonly condition: string;
  readonly trials: number;
  readonly refused: number;
  readonly biasDeg: number;
  readonly rmsDeg: number;
  readonly worstDeg: number;
  readonly coverage: number;
  readonly medianUDeg: number;
  readonly wrongWay: number;
  readonly straightnessRmsUm: number;
  readonly straightnessCoverage: number;
  readonly diamondWrong: number;
};

/** One line of the laboratory's table. */
export function summarise(condition: string, trials: readonly CantileverTrial[]): CantileverRow {
  const answered = trials.flatMap((t) => (t.report.ok ? [{ ...t, report: t.report }] : []));
  const errors = answered.map((t) => t.report.cantilever.bendAngleDeg.value - t.trueDeg);
  const straight = answered.map((t) => t.report.cantilever.straightnessUm.value - t.trueStraightnessUm);
  const share = (list: readonly boolean[]): number => list.filter(Boolean).length / Math.max(1, list.length);
  const rms = (list: readonly number[]): number =>
    Math.sqrt(list.reduce((s, e) => s + e * e, 0) / Math.max(1, list.length));
  const us = answered.map((t) => t.report.cantilever.bendAngleDeg.expanded).toSorted((a, b) => a - b);
  return {
    condition,
    trials: trials.length,
    refused: trials.length - answered.length,
    biasDeg: errors.reduce((s, e) => s + e, 0) / Math.max(1, errors.length),
    rmsDeg: rms(errors),
    worstDeg: Math.max(...errors.map(Math.abs)),
    coverage: share(errors.map((e, i) => Math.abs(e) <= answered[i].report.cantilever.bendAngleDeg.expanded)),
    medianUDeg: us[Math.floor(us.length / 2)],
    wrongWay: answered.filter(
      (t) => t.report.cantilever.bendToward !== 'none' && t.report.cantilever.bendToward !== t.trueToward,
    ).length,
    straightnessRmsUm: rms(straight),
    straightnessCoverage: share(
      straight.map((e, i) => Math.abs(e) <= answered[i].report.cantilever.straightnessUm.expanded),
    ),
    diamondWrong: answered.filter((t) => t.view === 'side' && diamondSaid(t.report) !== t.trueDiamond).length,
  };
}

function diamondSaid(report: Extract<CantileverReport, { ok: true }>): string {
  const kinds = report.suspicions.map((s) => s.kind);
  return kinds.includes('missing-diamond')
    ? 'missing'
    : kinds.includes('leaning-diamond')
      ? 'leaning'
      : kinds.includes('turned-diamond')
        ? 'turned'
        : 'present';
}
