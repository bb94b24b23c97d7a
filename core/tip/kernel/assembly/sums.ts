import { at, put } from './memory';

/**
 * The normal equations' sums. Every pixel depends on the same parameters of its capture and on the few interior ones of
 * the interval between knots in which it lies, so the rows of one interval share their columns: they are collected
 * column by column and multiplied as dense blocks, several times faster than pixel by pixel.
 */
const BLOCK: i32 = 32;

/** Multiplies the columns that were collected (BLOCK numbers each) with each other. */
function flush(block: usize, columns: i32, used: usize, into: usize): void {
  let count = 0;
  for (let i = 0; i < columns; i++) {
    const column = block + <usize>(i * BLOCK) * 8;
    let any = v128.splat<i64>(0);
    for (let r = 0; r < BLOCK; r += 2) any = v128.or(any, v128.load(column + <usize>r * 8));
    if (v128.any_true(any)) {
      store<i32>(used + ((<usize>count) << 2), i);
      count++;
    }
  }
  for (let i = 0; i < count; i += 2) {
    const c0 = load<i32>(used + ((<usize>i) << 2));
    const c1 = i + 1 < count ? load<i32>(used + ((<usize>(i + 1)) << 2)) : c0;
    const a0 = block + <usize>(c0 * BLOCK) * 8;
    const a1 = block + <usize>(c1 * BLOCK) * 8;
    for (let j = 0; j <= i; j += 2) {
      const e0 = load<i32>(used + ((<usize>j) << 2));
      const e1 = j + 1 < count ? load<i32>(used + ((<usize>(j + 1)) << 2)) : e0;
      const b0 = block + <usize>(e0 * BLOCK) * 8;
      const b1 = block + <usize>(e1 * BLOCK) * 8;
      let s00 = f64x2.splat(0);
      let s01 = f64x2.splat(0);
      let s10 = f64x2.splat(0);
      let s11 = f64x2.splat(0);
      for (let r: usize = 0; r < <usize>BLOCK * 8; r += 16) {
        const x0 = v128.load(a0 + r);
        const x1 = v128.load(a1 + r);
        const y0 = v128.load(b0 + r);
        const y1 = v128.load(b1 + r);
        s00 = f64x2.add(s00, f64x2.mul(x0, y0));
        s01 = f64x2.add(s01, f64x2.mul(x0, y1));
        s10 = f64x2.add(s10, f64x2.mul(x1, y0));
        s11 = f64x2.add(s11, f64x2.mul(x1, y1));
      }
      add(into, c0 * columns + e0, s00);
      if (e1 != e0 && e1 <= c0) add(into, c0 * columns + e1, s01);
      if (c1 != c0) {
        add(into, c1 * columns + e0, s10);
        if (e1 != e0) add(into, c1 * columns + e1, s11);
      }
    }
  }
}

function add(list: usize, i: i32, value: v128): void {
  put(list, i, at(list, i) + f64x2.extract_lane(value, 0) + f64x2.extract_lane(value, 1));
}

/**
 * J^T W J of the rows, for every interval of knots by itself: `into` holds columns x columns numbers for each, of which
 * the lower triangle is filled. `order`: the pixels, sorted by their interval; `begins`: where each interval begins in it,
 * and the end; `block`: room for columns x BLOCK numbers and columns indices.
 */
export function information(
  columns: i32,
  count: i32,
  order: usize,
  begins: usize,
  rows: usize,
  weights: usize,
  block: usize,
  into: usize,
): void {
  const used = block + <usize>(columns * BLOCK) * 8;
  const size = <usize>(columns * columns) * 8;
  memory.fill(into, 0, <usize>count * size);
  for (let index = 0; index < count; index++) {
    const begin = load<i32>(begins + ((<usize>index) << 2));
    const end = load<i32>(begins + ((<usize>(index + 1)) << 2));
    const sum = into + <usize>index * size;
    let fill = 0;
    for (let k = begin; k < end; k++) {
      const pixel = load<i32>(order + ((<usize>k) << 2));
      const weight = at(weights, pixel);
      if (weight == 0) continue;
      const root = sqrt(weight);
      const row = rows + <usize>(pixel * columns) * 8;
      let to = block + <usize>fill * 8;
      for (let i = 0; i < columns; i++, to += <usize>BLOCK * 8) store<f64>(to, root * at(row, i));
      fill++;
      if (fill == BLOCK) {
        flush(block, columns, used, sum);
        fill = 0;
      }
    }
    if (fill == 0) continue;
    for (let i = 0; i < columns; i++)
      memory.fill(block + <usize>(i * BLOCK + fill) * 8, 0, <usize>(BLOCK - fill) * 8);
    flush(block, columns, used, sum);
  }
}

/** J^T W r, interval by interval as above: `into` holds `columns` numbers (rounded up to an even number) for each. */
export function gradient(
  columns: i32,
  count: i32,
  order: usize,
  begins: usize,
  rows: usize,
  weights: usize,
  residual: usize,
  into: usize,
): void {
  const stride = <usize>((columns + 1) & ~1) * 8;
  memory.fill(into, 0, <usize>count * stride);
  for (let index = 0; index < count; index++) {
    const begin = load<i32>(begins + ((<usize>index) << 2));
    const end = load<i32>(begins + ((<usize>(index + 1)) << 2));
    const sum = into + <usize>index * stride;
    for (let k = begin; k < end; k++) {
      const pixel = load<i32>(order + ((<usize>k) << 2));
      const by = f64x2.splat(at(weights, pixel) * at(residual, pixel));
      const row = rows + <usize>(pixel * columns) * 8;
      // an odd row's last pair reads one number too many, into a place that nobody looks at
      for (let i: usize = 0; i < stride; i += 16)
        v128.store(sum + i, f64x2.add(v128.load(sum + i), f64x2.mul(by, v128.load(row + i))));
    }
  }
}
