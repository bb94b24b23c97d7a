import { at, put } from './memory';

const INTERIOR: i32 = 19;

/**
 * What `information` summed interval by interval, put together: the lower triangle of `size` x `size` by the capture's own
 * parameters. The interior's stand kind by kind, `knots` of each, and an interval touches two neighbours of every kind.
 */
export function gather(columns: i32, intervals: i32, knots: i32, sums: usize, size: i32, into: usize): void {
  memory.fill(into, 0, (<usize>(size * size)) << 3);
  for (let index = 0; index < intervals; index++)
    for (let i = 0; i < columns; i++) {
      const pi = placeOf(i, index, knots);
      const from = (index * columns + i) * columns;
      for (let j = 0; j <= i; j++) {
        const pj = placeOf(j, index, knots);
        const to = max<i32>(pi, pj) * size + min<i32>(pi, pj);
        put(into, to, at(into, to) + at(sums, from + j));
      }
    }
}

/** Where the c-th number of a row of interval i stands among the capture's parameters. */
function placeOf(c: i32, i: i32, knots: i32): i32 {
  return c < INTERIOR ? c : INTERIOR + ((c - INTERIOR) >> 1) * knots + i + ((c - INTERIOR) & 1);
}

/** Adds a capture's triangle to the whole symmetric matrix of `n` x `n`; `map`: global place of each own parameter. */
export function addTriangle(own: usize, size: i32, map: usize, n: i32, into: usize): void {
  for (let i = 0; i < size; i++) {
    const pi = load<i32>(map + ((<usize>i) << 2));
    for (let j = 0; j <= i; j++) {
      const value = at(own, i * size + j);
      if (value == 0) continue;
      const pj = load<i32>(map + ((<usize>j) << 2));
      put(into, pi * n + pj, at(into, pi * n + pj) + value);
      if (i != j) put(into, pj * n + pi, at(into, pj * n + pi) + value);
    }
  }
}

/**
 * Step of Levenberg and Marquardt for the `m` parameters listed in `free`, in their order: x of (A + lambda diag A) x = g.
 * `work`: m x m numbers, `first`: m integers. False where the damped matrix is not positive definite.
 */
export function step(
  a: usize,
  n: i32,
  free: usize,
  m: i32,
  lambda: f64,
  g: usize,
  work: usize,
  first: usize,
  x: usize,
): bool {
  for (let i = 0; i < m; i++) {
    const pi = load<i32>(free + ((<usize>i) << 2));
    for (let j = 0; j <= i; j++) put(work, i * m + j, at(a, pi * n + load<i32>(free + ((<usize>j) << 2))));
    const own = at(work, i * m + i);
    put(work, i * m + i, own + (lambda * own + 1e-12));
    put(x, i, at(g, pi));
  }
  if (!factorise(work, m, first)) return false;
  solve(work, m, first, x);
  return true;
}

/** Rows that are worked on side by side: one sum alone waits for each of its additions to end. */
const ROWS: i32 = 4;

/**
 * Cholesky factor in place of the lower triangle; the same sums in the same order as `cholesky` of `normal-equations.ts`.
 * What is zero at the beginning of a row stays zero and is passed over; `first`: where each row begins.
 */
function factorise(l: usize, n: i32, first: usize): bool {
  for (let i = 0; i < n; i++) {
    let from = 0;
    while (from < i && at(l, i * n + from) == 0) from++;
    store<i32>(first + ((<usize>i) << 2), from);
  }
  let i = 0;
  for (; i + ROWS <= n; i += ROWS) {
    let from = i;
    for (let r = 0; r < ROWS; r++) from = min<i32>(from, beginOf(first, i + r));
    const r0 = l + ((<usize>(i * n)) << 3);
    const r1 = r0 + ((<usize>n) << 3);
    const r2 = r1 + ((<usize>n) << 3);
    const r3 = r2 + ((<usize>n) << 3);
    for (let j = from; j < i; j++) {
      let s0 = at(r0, j);
      let s1 = at(r1, j);
      let s2 = at(r2, j);
      let s3 = at(r3, j);
      const other = l + ((<usize>(j * n)) << 3);
      for (let k = max<i32>(from, beginOf(first, j)); k < j; k++) {
        const by = at(other, k);
        s0 -= at(r0, k) * by;
        s1 -= at(r1, k) * by;
        s2 -= at(r2, k) * by;
        s3 -= at(r3, k) * by;
      }
      const pivot = at(other, j);
      put(r0, j, s0 / pivot);
      put(r1, j, s1 / pivot);
      put(r2, j, s2 / pivot);
      put(r3, j, s3 / pivot);
    }
    for (let r = i; r < i + ROWS; r++) if (!finishRow(l, n, first, r, i)) return false;
  }
  for (; i < n; i++) if (!finishRow(l, n, first, i, 0)) return false;
  return true;
}

function beginOf(first: usize, row: i32): i32 {
  return load<i32>(first + ((<usize>row) << 2));
}

/** The factor's row from column `begin` on, what stands before it being done. */
function finishRow(l: usize, n: i32, first: usize, i: i32, begin: i32): bool {
  const from = beginOf(first, i);
  const row = l + ((<usize>(i * n)) << 3);
  for (let j = max<i32>(from, begin); j <= i; j++) {
    let sum = at(row, j);
    const other = l + ((<usize>(j * n)) << 3);
    for (let k = max<i32>(from, beginOf(first, j)); k < j; k++) sum -= at(row, k) * at(other, k);
    if (i == j) {
      if (!(sum > 0)) return false;
      put(row, i, sqrt(sum));
    } else put(row, j, sum / at(other, j));
  }
  return true;
}

/** Solves L L^T x = x in place. */
function solve(l: usize, n: i32, first: usize, x: usize): void {
  for (let i = 0; i < n; i++) {
    const row = l + ((<usize>(i * n)) << 3);
    let sum = at(x, i);
    for (let k = beginOf(first, i); k < i; k++) sum -= at(row, k) * at(x, k);
    put(x, i, sum / at(row, i));
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = at(x, i);
    for (let k = i + 1; k < n; k++) sum -= at(l, k * n + i) * at(x, k);
    put(x, i, sum / at(l, i * n + i));
  }
}

/** Decrease of the cost that the quadratic model promises for a step. */
export function promise(a: usize, n: i32, g: usize, moved: usize): f64 {
  let gain: f64 = 0;
  for (let i = 0; i < n; i++) {
    const si = at(moved, i);
    if (si == 0) continue;
    const line = a + ((<usize>(i * n)) << 3);
    let row: f64 = 0;
    for (let j = 0; j < n; j++) row += at(line, j) * at(moved, j);
    gain += si * (2 * at(g, i) - row);
  }
  return gain;
}
