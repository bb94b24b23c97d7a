import { INTERIOR, kindsOf, SIGMA, type CaptureModel, type Evaluation } from '../capture-model.ts';
import { edgeParts } from '../blurred-edge.ts';
import { arena, type Arena } from './arena.ts';
import type { Triangle } from './normal-system.ts';
import { NUMBERS, writeNumbers } from './numbers.ts';

/**
 * The model of one capture over its whole band, and the sums that a fit needs of its derivatives, reckoned in
 * WebAssembly (`assembly/band.ts`). The same numbers as `pointModel` gives point by point, to rounding.
 */
export type BandKernel = {
  /** The model at the local parameters `p`, written to `out`; with `slopes` the derivatives are kept for the two below. */
  readonly evaluate: (p: ArrayLike<number>, slopes: boolean, out: Evaluation) => void;
  /** J^T W J by the capture's own parameters; `weights`: one a pixel, 0 or more. */
  readonly information: (weights: Float64Array) => Triangle;
  /** J^T W r by the same; `residual`: one a pixel. */
  readonly gradient: (weights: Float64Array, residual: Float64Array) => Float64Array;
};

const F64 = 8;
const I32 = 4;
/** As in `assembly/band.ts`. */
const WORK = 70;
const BLOCK = 32;
const KINK = 11;

/** Kernels for some captures at once; neither they nor what `work` takes from the arena may be used after it has ended. */
export function withKernels<T>(
  models: readonly CaptureModel[],
  work: (kernels: readonly BandKernel[], own: Arena) => T,
): T {
  const own = arena();
  return own.inside(() =>
    work(
      models.map((model) => bandKernel(model, own)),
      own,
    ),
  );
}

function bandKernel(model: CaptureModel, own: Arena): BandKernel {
  const { band, knots, size } = model;
  const { n } = band;
  const intervals = knots.length - 1;
  const kinds = kindsOf(model);
  const columns = INTERIOR + 2 * kinds;
  const even = columns + (columns & 1);
  const [x, y, level] = [band.x, band.y, band.field].map((list) => own.keep(list));
  const room = (numbers: number): number => own.take(numbers * F64);
  const grey = room(n);
  const distance = room(n);
  const weight = room(n);
  const residual = room(n);
  // a pair of numbers at a time, so the last row is read one number too far
  const rows = room(n * columns + 1);
  const places = own.take(n * I32);
  const order = own.take(n * I32);
  const begins = own.take((intervals + 1) * I32);
  const numbers = room(NUMBERS);
  const inside = room(size - INTERIOR);
  const work = room(WORK);
  const block = room(columns * BLOCK + columns);
  const sums = room(intervals * columns * columns);
  const triangle = room(size * size);

  /** The pixels by the interval between knots in which they lie. */
  const sortPixels = (): void => {
    const place = own.int32(places, n);
    const begin = own.int32(begins, intervals + 1).fill(0);
    for (let k = 0; k < n; k++) begin[place[k] + 1]++;
    for (let i = 0; i < intervals; i++) begin[i + 1] += begin[i];
    const next = begin.slice();
    const sorted = own.int32(order, n);
    for (let k = 0; k < n; k++) sorted[next[place[k]]++] = k;
  };
  /** Where the c-th number of a row of interval i stands among the capture's parameters. */
  const placeOf = (c: number, i: number): number =>
    c < INTERIOR ? c : INTERIOR + ((c - INTERIOR) >> 1) * knots.length + i + ((c - INTERIOR) & 1);

  return {
    evaluate: (p, slopes, out) =>
      own.inside(() => {
        const parts = edgeParts(p, p[SIGMA], slopes);
        const { nodes } = parts;
        writeNumbers(own.float64(numbers, NUMBERS), model, p, parts);
        const inner = own.float64(inside, size - INTERIOR);
        for (let i = 0; i < inner.length; i++) inner[i] = p[INTERIOR + i];
        const outline = own.take((nodes.y.length + nodes.dy.length) * F64);
        const corners = room(Math.max(1, nodes.kinks.length) * KINK);
        own.float64(outline, nodes.y.length).set(nodes.y);
        own.float64(outline + nodes.y.length * F64, nodes.dy.length).set(nodes.dy);
        nodes.kinks.forEach((kink, i) =>
          own.float64(corners + i * KINK * F64, KINK).set([kink.x, kink.y, kink.turn, ...kink.jumps]),
        );
        own.code.evaluate(
          n,
          numbers,
          inside,
          outline,
          corners,
          work,
          own.normalTable,
          x,
          y,
          level,
          grey,
          distance,
          slopes ? 1 : 0,
          places,
          rows,
        );
        out.model.set(own.float64(grey, n));
        out.t.set(own.float64(distance, n));
        if (slopes) sortPixels();
      }),
    information: (weights) => {
      own.float64(weight, n).set(weights);
      own.code.information(columns, intervals, order, begins, rows, weight, block, sums);
      own.code.gather(columns, intervals, knots.length, sums, size, triangle);
      return { address: triangle, size };
    },
    gradient: (weights, r) => {
      own.float64(weight, n).set(weights);
      own.float64(residual, n).set(r);
      own.code.gradient(columns, intervals, order, begins, rows, weight, residual, sums);
      const found = own.float64(sums, intervals * even);
      const g = new Float64Array(size);
      for (let index = 0; index < intervals; index++)
        for (let i = 0; i < columns; i++) g[placeOf(i, index)] += found[index * even + i];
      return g;
    },
  };
}
