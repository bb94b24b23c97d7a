import type { Arena } from './arena.ts';

/** Lower triangle of size x size at an address of the arena, good until its owner is asked again. */
export type Triangle = { readonly address: number; readonly size: number };

/**
 * A fit's normal equations in the memory of the compiled code: a matrix of a hundred parameters is 80 kB and more, and a
 * fit needs several of them at every step, which made most of what the garbage collector had to do.
 */
export type NormalSystem = {
  readonly clear: () => void;
  /** `map`: global place of each of the triangle's parameters. */
  readonly add: (own: Triangle, map: Int32Array) => void;
  /** The matrix, row-major; good until something else is taken from the arena. */
  readonly matrix: () => Float64Array;
  /**
   * Step of Levenberg and Marquardt towards `g` for the parameters that are `free`, in their order, the others' being 0; null
   * where there is none.
   */
  readonly step: (g: Float64Array, free: readonly number[], lambda: number) => Float64Array | null;
  /** Decrease of the cost that the quadratic model promises when the parameters move by so much. */
  readonly promise: (g: Float64Array, moved: Float64Array) => number;
};

const F64 = 8;
const I32 = 4;

/** Of `n` parameters; lives as long as what its arena hands out. */
export function normalSystem(own: Arena, n: number): NormalSystem {
  const matrix = own.take(n * n * F64);
  const work = own.take(n * n * F64);
  const gradient = own.take(n * F64);
  const solution = own.take(n * F64);
  const places = own.take(n * I32);
  const first = own.take(n * I32);
  return {
    clear: () => void own.float64(matrix, n * n).fill(0),
    add: ({ address, size }, map) => {
      own.int32(places, size).set(map);
      own.code.addTriangle(address, size, places, n, matrix);
    },
    matrix: () => own.float64(matrix, n * n),
    step: (g, free, lambda) => {
      own.float64(gradient, n).set(g);
      own.int32(places, free.length).set(free);
      const found = own.code.step(matrix, n, places, free.length, lambda, gradient, work, first, solution);
      if (found === 0) return null;
      const part = own.float64(solution, free.length);
      const step = new Float64Array(n);
      for (let i = 0; i < free.length; i++) step[free[i]] = part[i];
      return step;
    },
    promise: (g, moved) => {
      own.float64(gradient, n).set(g);
      own.float64(solution, n).set(moved);
      return own.code.promise(matrix, n, gradient, solution);
    },
  };
}
