/**
 * Normal matrix J^T W J of a capture's model, gathered block by block. Every pixel depends on the same `head`
 * parameters and on the few interior parameters of the one interval between knots in which it lies, so the rows of one
 * interval share their columns: they are collected column by column and multiplied as dense blocks, several times
 * faster than pixel by pixel. Rows come in scaled with the root of their weight.
 */
export type Gatherer = {
  /**
   * One pixel: root of its weight; `rows` from `from` on: derivatives by the head, then by the interior parameters touched;
   * the interval in which it lies.
   */
  readonly add: (rootWeight: number, rows: Float64Array, from: number, interval: number) => void;
  /** Adds what was gathered to the lower triangle of `a` (size x size). */
  readonly finish: (a: Float64Array) => void;
};

const BLOCK = 32;

type Interval = {
  /** Columns of BLOCK rows each. */
  readonly rows: Float64Array;
  readonly sums: Float64Array;
  fill: number;
};

/**
 * `head`: number of parameters that every pixel depends on, at the front; behind them `kinds` interior parameters at each
 * of `knots` knots, kind by kind. A pixel of interval i touches knots i and i + 1 of every kind, in this order.
 */
export function gatherer(head: number, kinds: number, knots: number): Gatherer {
  const inner = 2 * kinds;
  const size = head + kinds * knots;
  const columns = head + inner;
  const intervals = new Map<number, Interval>();
  const used = new Int32Array(columns);

  function flush(interval: Interval): void {
    const { rows, sums, fill } = interval;
    if (fill === 0) return;
    let count = 0;
    for (let c = 0; c < columns; c++) {
      const base = c * BLOCK;
      rows.fill(0, base + fill, base + BLOCK);
      let any = false;
      for (let k = 0; k < fill; k++)
        if (rows[base + k] !== 0) {
          any = true;
          break;
        }
      if (any) used[count++] = c;
    }
    // two by two columns at a time: every number that is fetched serves twice
    for (let i = 0; i < count; i += 2) {
      const c0 = used[i];
      const c1 = i + 1 < count ? used[i + 1] : c0;
      const a0 = c0 * BLOCK;
      const a1 = c1 * BLOCK;
      for (let j = 0; j <= i; j += 2) {
        const e0 = used[j];
        const e1 = j + 1 < count ? used[j + 1] : e0;
        const b0 = e0 * BLOCK;
        const b1 = e1 * BLOCK;
        let s00 = 0;
        let s01 = 0;
        let s10 = 0;
        let s11 = 0;
        for (let k = 0; k < BLOCK; k++) {
          const x0 = rows[a0 + k];
          const x1 = rows[a1 + k];
          const y0 = rows[b0 + k];
          const y1 = rows[b1 + k];
          s00 += x0 * y0;
          s01 += x0 * y1;
          s10 += x1 * y0;
          s11 += x1 * y1;
        }
        sums[c0 * columns + e0] += s00;
        if (e1 !== e0 && e1 <= c0) sums[c0 * columns + e1] += s01;
        if (c1 !== c0) {
          sums[c1 * columns + e0] += s10;
          if (e1 !== e0) sums[c1 * columns + e1] += s11;
        }
      }
    }
    interval.fill = 0;
  }

  return {
    add: (rootWeight, from, at, index) => {
      let interval = intervals.get(index);
      if (interval === undefined) {
        interval = {
          rows: new Float64Array(columns * BLOCK),
          sums: new Float64Array(columns * columns),
          fill: 0,
        };
        intervals.set(index, interval);
      }
      const { rows } = interval;
      let to = interval.fill;
      for (let i = 0; i < columns; i++, to += BLOCK) rows[to] = rootWeight * from[at + i];
      interval.fill++;
      if (interval.fill === BLOCK) flush(interval);
    },
    finish: (a) => {
      for (const [index, interval] of intervals) {
        flush(interval);
        const { sums } = interval;
        const place = (c: number): number =>
          c < head ? c : head + ((c - head) >> 1) * knots + index + ((c - head) & 1);
        for (let i = 0; i < columns; i++) {
          const pi = place(i);
          for (let j = 0; j <= i; j++) {
            const pj = place(j);
            a[Math.max(pi, pj) * size + Math.min(pi, pj)] += sums[i * columns + j];
          }
        }
      }
    },
  };
}
