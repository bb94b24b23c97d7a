import { calibrateFromRuledSlide } from '../../core/calibration/index.ts';
import { examineCapture, measureCantilever, type Control } from '../../core/index.ts';
import { randomCantilever } from '../../fixtures/render/cantilever-random.ts';
import { randomCantileverVaried } from '../../fixtures/render/cantilever-varied.ts';
import { randomCantileverRaster } from '../../fixtures/render/cantilever-raster.ts';
import type { CantileverTruth } from '../../fixtures/render/cantilever.ts';
import type { Rendered } from '../../fixtures/render/camera.ts';
import { throughFile } from '../../fixtures/render/encode.ts';
import { type EndOnTruth, randomEndOn } from '../../fixtures/render/facets.ts';
import { randomEndOnVaried } from '../../fixtures/render/facets-varied.ts';
import { randomRuledSlide } from '../../fixtures/render/ruled-slide.ts';

/**
 * The laboratory's other rows: cantilevers, flats seen end-on, ruled slides. Every kind of picture but the slide comes
 * from two renderers, cantilevers from three, that were made apart, so that no number is the habit of one.
 */
type Value = { truth: number; value: number; expanded: number };
export type OtherTrial = {
  other: true;
  condition: string;
  seed: number;
  refused: string | null;
  values: Value[];
  /** Something said that is not so: a straight one called bent, a sound diamond missing, facets where there are none. */
  falseAlarms: string[];
  /** Something true that was not said or not found. */
  missed: string[];
  ms: number;
};
export type OtherCondition = {
  readonly name: string;
  readonly unit: string;
  readonly digits: number;
  readonly share: number;
  readonly trial: (seed: number) => Promise<Omit<OtherTrial, 'other' | 'condition' | 'seed' | 'ms'>>;
};

const control: Control = { progress: () => undefined, check: () => undefined, now: () => 0 };
const nothing = { values: [], falseAlarms: [], missed: [] };

async function cantilever(rendered: Rendered<CantileverTruth>) {
  const picture = await throughFile(rendered);
  const { truth } = picture;
  const scale = { umPerPx: truth.umPerPx, standardUmPerPx: 0.001 * truth.umPerPx };
  const report = await measureCantilever({ view: truth.view, picture, scale }, control);
  if (!report.ok) return { refused: report.reason.code, ...nothing };
  const { bendAngleDeg, bendToward } = report.cantilever;
  const said = report.suspicions.map((s) => s.kind);
  const straight = truth.bendAngleDeg === 0;
  const falseAlarms = straight && bendToward !== 'none' ? ['bent'] : [];
  const missed: string[] = [];
  for (const state of ['missing', 'leaning', 'turned'] as const) {
    const kind = `${state}-diamond` as const;
    if (said.includes(kind) && truth.diamond.state !== state) falseAlarms.push(kind);
    if (!said.includes(kind) && truth.diamond.state === state && truth.view === 'side') missed.push(kind);
  }
  return { refused: null, values: [{ truth: truth.bendAngleDeg, ...bendAngleDeg }], falseAlarms, missed };
}

async function endOn(rendered: Rendered<EndOnTruth>) {
  const picture = await throughFile(rendered);
  const { truth } = picture;
  const scale = { umPerPx: truth.umPerPx, standardUmPerPx: 0.001 * truth.umPerPx };
  const report = await examineCapture({ view: 'end-on', picture, scale }, control);
  if (!report.ok) return { refused: report.reason.code, ...nothing };
  const values: Value[] = [];
  const falseAlarms: string[] = [];
  for (const f of report.facets ?? []) {
    const place = f.centrePx ?? { x: NaN, y: NaN };
    // By place: a picture has no left of its own.
    const near = truth.facets
      .map((t) => ({ t, um: Math.hypot(t.centrePx.x - place.x, t.centrePx.y - place.y) * truth.umPerPx }))
      .toSorted((a, b) => a.um - b.um)[0];
    if (near === undefined || !(near.um < 6)) falseAlarms.push('facet');
    else
      values.push(
        { truth: near.t.alongUm, value: f.alongUm.value, expanded: f.alongUm.expanded },
        { truth: near.t.acrossUm, value: f.acrossUm.value, expanded: f.acrossUm.expanded },
      );
  }
  const missed = truth.facets.slice(values.length / 2).map(() => 'facet');
  return { refused: null, values, falseAlarms, missed };
}

async function ruledSlide(seed: number, distortion?: number) {
  const options = { everyFifthMissing: true, ...(distortion === undefined ? {} : { distortion }) };
  const picture = await throughFile(randomRuledSlide(seed, options));
  const { truth } = picture;
  const found = calibrateFromRuledSlide({ picture, pitchUm: truth.pitchUm, pitchRelativeStandard: 0 });
  if (!found.ok) return { refused: found.reason.code, ...nothing };
  const scale = found.value;
  const own = truth.pitchUm / truth.pitchPx;
  const bent = scale.warnings.some((w) => w.code === 'lines-bend');
  return {
    refused: null,
    values: [
      { truth: 100, value: (100 * scale.umPerPx) / own, expanded: (100 * scale.expandedUmPerPx) / own },
    ],
    falseAlarms: bent && distortion === undefined ? ['lines bend'] : [],
    missed: !bent && distortion !== undefined ? ['lines bend'] : [],
  };
}

const DEG = { unit: 'deg', digits: 3 } as const;
const UM = { unit: 'um', digits: 2 } as const;

export const OTHER_VIEWS: readonly OtherCondition[] = [
  {
    name: 'cantilever, backlit',
    share: 0.06,
    ...DEG,
    trial: (s) => cantilever(randomCantilever(s, { light: 'backlit' })),
  },
  {
    name: 'cantilever, ring-lit',
    share: 0.06,
    ...DEG,
    trial: (s) => cantilever(randomCantilever(s, { light: 'ring' })),
  },
  {
    name: 'cantilever, straight',
    share: 0.2,
    ...DEG,
    trial: (s) => cantilever(randomCantilever(s, { bendDeg: 0 })),
  },
  {
    name: 'cantilever, second renderer',
    share: 0.12,
    ...DEG,
    trial: (s) => cantilever(randomCantileverVaried(s)),
  },
  {
    name: 'cantilever, straight, second renderer',
    share: 0.2,
    ...DEG,
    trial: (s) => cantilever(randomCantileverVaried(s, { bendDeg: 0 })),
  },
  {
    name: 'cantilever, third renderer',
    share: 0.12,
    ...DEG,
    trial: (s) => cantilever(randomCantileverRaster(s)),
  },
  {
    name: 'cantilever, straight, third renderer',
    share: 0.2,
    ...DEG,
    trial: (s) => cantilever(randomCantileverRaster(s, { bendDeg: 0 })),
  },
  {
    name: 'cantilever, diamond turned, third renderer',
    share: 0.08,
    ...DEG,
    trial: (s) => cantilever(randomCantileverRaster(s, { view: 'side', diamond: 'turned' })),
  },
  { name: 'end-on facets', share: 0.08, ...UM, trial: (s) => endOn(randomEndOn(s)) },
  { name: 'end-on facets, second renderer', share: 0.08, ...UM, trial: (s) => endOn(randomEndOnVaried(s)) },
  { name: 'end-on, unworn', share: 0.06, ...UM, trial: (s) => endOn(randomEndOn(s, { state: 'unworn' })) },
  {
    name: 'end-on, unworn, second renderer',
    share: 0.06,
    ...UM,
    trial: (s) => endOn(randomEndOnVaried(s, { state: 'unworn' })),
  },
  {
    name: 'end-on, burnt out',
    share: 0.03,
    ...UM,
    trial: (s) => endOn(randomEndOn(s, { state: 'saturated' })),
  },
  { name: 'ruled slide', share: 0.08, unit: '%', digits: 4, trial: (s) => ruledSlide(s) },
  {
    name: 'ruled slide, lens bends lines',
    share: 0.03,
    unit: '%',
    digits: 4,
    trial: (s) => ruledSlide(s, 0.02),
  },
];

export async function otherTrial(condition: OtherCondition, seed: number): Promise<OtherTrial> {
  const started = performance.now();
  const result = await condition.trial(seed);
  return { other: true, condition: condition.name, seed, ...result, ms: performance.now() - started };
}

export type OtherRow = {
  condition: string;
  unit: string;
  pictures: number;
  refused: number;
  values: number;
  bias: number;
  rms: number;
  worst: number;
  coverage: number;
  medianU: number;
  falseAlarms: number;
  missed: number;
};

export function summariseOther(condition: OtherCondition, trials: readonly OtherTrial[]): OtherRow {
  const values = trials.flatMap((t) => t.values);
  const errors = values.map((v) => v.value - v.truth);
  const mean = (list: number[]): number => list.reduce((s, v) => s + v, 0) / Math.max(1, list.length);
  return {
    condition: condition.name,
    unit: condition.unit,
    pictures: trials.length,
    refused: trials.filter((t) => t.refused !== null).length,
    values: values.length,
    bias: values.length === 0 ? NaN : mean(errors),
    rms: values.length === 0 ? NaN : Math.sqrt(mean(errors.map((e) => e * e))),
    worst: values.length === 0 ? NaN : Math.max(...errors.map(Math.abs)),
    coverage:
      values.length === 0 ? NaN : mean(values.map((v, i) => (Math.abs(errors[i]) <= v.expanded ? 1 : 0))),
    medianU: values.map((v) => v.expanded).toSorted((a, b) => a - b)[values.length >> 1] ?? NaN,
    falseAlarms: trials.filter((t) => t.falseAlarms.length > 0).length,
    missed: trials.filter((t) => t.missed.length > 0).length,
  };
}

/** The table as Markdown. */
export function otherTable(rows: readonly OtherRow[]): string {
  const head =
    '| condition | pictures | refused | values | unit | bias | rms | worst | coverage | median U | false alarms | missed |';
  const line = (r: OtherRow): string => {
    const digits = OTHER_VIEWS.find((c) => c.name === r.condition)?.digits ?? 3;
    const f = (v: number, d: number): string => (Number.isFinite(v) ? v.toFixed(d) : '-');
    return `| ${r.condition} | ${r.pictures} | ${r.refused} | ${r.values} | ${r.unit} | ${f(r.bias, digits)} | ${f(r.rms, digits)} | ${f(r.worst, digits)} | ${f(r.coverage, 3)} | ${f(r.medianU, digits)} | ${r.falseAlarms}/${r.pictures} | ${r.missed}/${r.pictures} |`;
  };
  return [head, head.replaceAll(/[^|]+/g, ' --- '), ...rows.map(line)].join('\n');
}
