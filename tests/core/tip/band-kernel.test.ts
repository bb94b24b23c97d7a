import { describe, expect, it } from 'vitest';
import {
  emptyEvaluation,
  INTERIOR,
  KAPPA,
  POSE,
  pointModel,
  type CaptureModel,
} from '../../../core/tip/capture-model.ts';
import { withKernels } from '../../../core/tip/kernel/band-kernel.ts';
import { normalSystem } from '../../../core/tip/kernel/normal-system.ts';
import { BYTES } from '../../../core/tip/kernel/bytes.ts';
import { compile } from '../../../electron/build/kernel.mjs';

/** A reproducible sequence of numbers between -1 and 1 (linear congruential, Numerical Recipes' constants, from memory). */
function sequence(): () => number {
  let state = 12345;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 31 - 1;
  };
}

const KNOTS = 9;

/** Pixels all around a tip of 18 um: arc, flats, flanks near and far, some outside of all knots. */
function modelOf(humps: boolean, n: number): CaptureModel {
  const next = sequence();
  const of = (value: () => number): Float64Array => Float64Array.from({ length: n }, value);
  return {
    umPerPx: 1,
    band: {
      n,
      x: of(() => 52 * next()),
      y: of(() => 26 * next() - 2),
      grey: of(() => 0.5 + 0.4 * next()),
      field: of(() => 0.6 + 0.1 * next()),
      index: new Int32Array(n),
    },
    knots: Float64Array.from({ length: KNOTS }, (_, i) => -60 + 15 * i),
    depth: 6,
    size: INTERIOR + (humps ? 4 : 2) * KNOTS,
    humps,
    length: 60,
  };
}

/** Two flats, one flat, none; turned, moved and stretched. */
const SHAPES = [
  [18, 0.04, 0.45, 0.43, 0.03, -0.02, 0.6, 0.9],
  [17, -0.05, 0.4, 0.47, -0.05, 0.01, 0, 1.8],
  [19, 0, 0.44, 0.44, 0, 0, 0, 0],
];

function parameters(shape: readonly number[], size: number): Float64Array {
  const next = sequence();
  const local = [...shape, 1.3, -0.8, 0.21, 1.5, 0.3, 0.15, 0.01, 0.01, 0.02, -0.01, 0.4];
  return Float64Array.from({ length: size }, (_, i) => (i < INTERIOR ? local[i] : 0.2 + 0.1 * next()));
}

/** What `pointModel` says of every pixel: grey, t and the derivatives by all local parameters. */
function pointByPoint(model: CaptureModel, p: Float64Array) {
  const at = pointModel(model, p);
  const [c, s, zoom] = [Math.cos(p[POSE + 2]), Math.sin(p[POSE + 2]), 1 + p[KAPPA]];
  const { x, y, field } = model.band;
  return Array.from({ length: model.band.n }, (_, k) => {
    const [dx, dy] = [x[k] - p[POSE], y[k] - p[POSE + 1]];
    const point = at(zoom * (c * dx - s * dy), zoom * (s * dx + c * dy), field[k]);
    const row = new Float64Array(model.size);
    row.set(point.d);
    point.at.forEach((place, i) => (row[place] += point.inner[i]));
    return { grey: point.grey, t: point.t, row };
  });
}

describe.each([
  ['a silhouette', false],
  ['a lit part', true],
])('the compiled model of %s', (_name, humps) => {
  // no multiple of a block, so that blocks end early
  const model = modelOf(humps, 1017);

  it.each(SHAPES.map((shape) => ({ shape })))('says what the model says point by point', ({ shape }) => {
    const p = parameters(shape, model.size);
    const expected = pointByPoint(model, p);
    for (const slopes of [true, false]) {
      const out = emptyEvaluation(model);
      withKernels([model], ([kernel]) => kernel.evaluate(p, slopes, out));
      expected.forEach(({ grey, t }, k) => {
        expect(out.model[k]).toBeCloseTo(grey, 11);
        expect(out.t[k]).toBeCloseTo(t, 11);
      });
    }
  });

  it.each(SHAPES.map((shape) => ({ shape })))('sums what a fit needs of its derivatives', ({ shape }) => {
    const next = sequence();
    const p = parameters(shape, model.size);
    const weights = Float64Array.from({ length: model.band.n }, (_, k) => (k % 5 === 0 ? 0 : 1 + next()));
    const residual = Float64Array.from({ length: model.band.n }, next);
    const { size } = model;
    const a = new Float64Array(size * size);
    const g = new Float64Array(size);
    pointByPoint(model, p).forEach(({ row }, k) => {
      for (let i = 0; i < size; i++) {
        g[i] += weights[k] * residual[k] * row[i];
        for (let j = 0; j <= i; j++) a[i * size + j] += weights[k] * row[i] * row[j];
      }
    });
    // a second capture beside it, to have them keep out of each other's memory
    withKernels([model, modelOf(!humps, 400)], ([kernel, other], arena) => {
      kernel.evaluate(p, true, emptyEvaluation(model));
      const beside = modelOf(!humps, 400);
      other.evaluate(parameters(shape, beside.size), true, emptyEvaluation(beside));
      kernel.evaluate(parameters(SHAPES[0], size), false, emptyEvaluation(model));
      const system = normalSystem(arena, size);
      system.clear();
      system.add(
        kernel.information(weights),
        Int32Array.from({ length: size }, (_, i) => i),
      );
      const information = system.matrix().slice();
      const gradient = kernel.gradient(weights, residual);
      const scale = (i: number): number => Math.sqrt(a[i * size + i]);
      for (let i = 0; i < size; i++) {
        expect(Math.abs(gradient[i] - g[i])).toBeLessThan(1e-9 * (1 + scale(i)));
        for (let j = 0; j <= i; j++)
          expect(Math.abs(information[i * size + j] - a[i * size + j])).toBeLessThan(
            1e-10 * (1 + scale(i) * scale(j)),
          );
      }
    });
  });
});

describe('the compiled code', () => {
  it('is what its source compiles to', async () => {
    expect(await compile()).toBe(BYTES);
  }, 60_000);
});
