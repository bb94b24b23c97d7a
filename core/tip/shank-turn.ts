import { reweighted } from '../fit/robust-linear.ts';
import { median } from '../fit/select.ts';
import { flanksTurnedByLens, LENS_SD, outwardByLens } from './lens.ts';
import {
  FAR,
  LEAST_SCATTER_UM,
  movedEdges,
  signOf,
  straightThrough,
  stripOf,
  type Block,
  type Moved,
  type Strip,
} from './shank-edges.ts';
import type { SingleFit } from './single.ts';
import { SIDES } from './walls.ts';

/**
 * How far two captures of a part are turned against each other, by the edges of its shank. The shank is several times longer
 * than the flanks, so the shading of a lit part, which moves an edge by some tenths of a um, turns it by much less. Nothing is
 * asked of the tip, so wear cannot turn the answer.
 */
export type Turn = {
  /** To be added to the later capture's rotation less the baseline's as the two fits have it, radians: as the flanks should show it. */
  readonly radians: number;
  readonly standard: number;
  /**
   * The part's own turn, radians, without what the lenses do to the flanks, in the same way: where a fit finds the flanks turned by
   * f, it is radians + follows (f - the radians above), and `standard` is what is left open of it then.
   */
  readonly part: { readonly radians: number; readonly follows: number; readonly standard: number };
};

/** The singles' poses are known to some tenths of a degree: a larger turn is no correction but a mistake. */
const MOST_TURN = (1.2 * Math.PI) / 180;

/**
 * What the scatter about the lines does not show: neighbouring blocks err together (times 1.5), and slow changes of the shading differ
 * between captures by some hundredths of a um, which turns a short shank more than a long one. From the laboratory's pictures and
 * from no theory.
 */
const TOGETHER = 1.5;
const SHADING_UM = 0.02;
/** Nor is an edge lit from the front known better, however little it scatters: a side in even light is not ten times as true as the other. */
const LIT_SCATTER_UM = 0.06;
/** The two sides turn apart by so much, radians: blur, shading, a step in the taper. */
const WIDENING_SD = 0.001;
/** Nothing is known of the offsets, um. */
const OFFSET_SD = 100;

/** by = sign turn y + widening y + the side's offset (for the shift and the blur) + k1 D1 - k0 D0, k the lens (`lens`). */
const COLUMNS = 6;
const [TURN, WIDENING, LEFT, RIGHT, BEFORE, AFTER] = [0, 1, 2, 3, 4, 5];
/** What is known beforehand, each 0 within so much. */
const BEFOREHAND: readonly (readonly [column: number, sd: number])[] = [
  [WIDENING, WIDENING_SD],
  [LEFT, OFFSET_SD],
  [RIGHT, OFFSET_SD],
  [BEFORE, LENS_SD],
  [AFTER, LENS_SD],
];

/** One row for each block and each thing that is known beforehand, in units of its own scatter. */
type Rows = {
  readonly design: Float64Array;
  readonly v: Float64Array;
  /** What is left over by each side's own line. */
  readonly first: Float64Array;
};

function rowsOf(strips: readonly [Strip, Strip], blocks: readonly Moved[]): Rows | null {
  const n = blocks.length;
  const lit = !strips[0].prepared.darkPart;
  const design = new Float64Array(COLUMNS * (n + BEFOREHAND.length));
  const v = new Float64Array(n + BEFOREHAND.length);
  const first = new Float64Array(n + BEFOREHAND.length);
  for (const side of SIDES) {
    const own = blocks.flatMap((block, i) => (block.side === side ? [i] : []));
    if (own.length === 0) continue;
    const middle = median(own.map((i) => blocks[i].y));
    const line = straightThrough(
      own.map((i) => blocks[i].y - middle),
      own.map((i) => blocks[i].by),
      LEAST_SCATTER_UM,
    );
    if (!line) return null;
    const scatter = TOGETHER * Math.max(lit ? LIT_SCATTER_UM : 0, line.scale);
    own.forEach((i, k) => {
      const { y, by } = blocks[i];
      const row = [signOf(side) * (y - middle), y - middle, 0, 0, ...lensesMove(strips, blocks[i])];
      row[side === 'left' ? LEFT : RIGHT] = 1;
      row.forEach((one, column) => (design[COLUMNS * i + column] = one / scatter));
      v[i] = by / scatter;
      first[i] = line.rest[k] / scatter;
    });
  }
  BEFOREHAND.forEach(([column, sd], i) => (design[COLUMNS * (n + i) + column] = 1 / sd));
  return { design, v, first };
}

/** How much further out k = 1 of either capture's lens shows an edge in the later one, um. */
function lensesMove(strips: readonly [Strip, Strip], { side, y }: Block): readonly [number, number] {
  const nx = signOf(side);
  const [before, after] = strips.map(({ prepared, frame, half }) =>
    outwardByLens(prepared, frame, { x: nx * half, y, nx, ny: 0 }),
  );
  return [-before, after];
}

/**
 * The turn by the shank's edges, between a baseline and a later capture that were fitted by themselves: both sides at once, by
 * Tukey's biweight, less certain where they turn apart by more than their scatter explains, since one shank turns as one. Null
 * where the shank is not seen in both captures, or tells a turn that cannot be.
 */
export function shankTurn(baseline: SingleFit, later: SingleFit): Turn | null {
  const before = stripOf(baseline);
  const after = stripOf(later);
  if (!before || !after) return null;
  const blocks = movedEdges([before, after]);
  const rows = blocks.length === 0 ? null : rowsOf([before, after], blocks);
  if (!rows) return null;
  const far = FAR / TOGETHER;
  const weigh = (rest: Float64Array): Float64Array =>
    rest.map((r, i) => (i < blocks.length ? Math.max(0, 1 - (r / far) ** 2) ** 2 : 1));
  const fit = reweighted(rows.design, rows.v, COLUMNS, 10, weigh, rows.first);
  const covariance = fit?.inverse();
  if (!fit || !covariance) return null;
  const at = (i: number, j: number): number => covariance[i * COLUMNS + j];
  const apart = Math.max(0, fit.p[WIDENING] ** 2 - at(WIDENING, WIDENING));
  const beside = (SHADING_UM / leverOf(blocks)) ** 2 + apart;
  // what the flanks show: the turn, and what either lens does to them
  const shows: readonly (readonly [column: number, factor: number])[] = [
    [TURN, 1],
    [BEFORE, -flanksTurnedByLens(baseline)],
    [AFTER, flanksTurnedByLens(later)],
  ];
  const sum = (term: (column: number) => number): number =>
    shows.reduce((total, [column, factor]) => total + factor * term(column), 0);
  const radians = sum((i) => fit.p[i]);
  if (!(Math.abs(radians) <= MOST_TURN)) return null;
  const own = at(TURN, TURN) + beside;
  const both = sum((i) => at(TURN, i)) + beside;
  const shown = sum((i) => sum((j) => at(i, j))) + beside;
  return {
    radians,
    standard: Math.sqrt(shown),
    part: {
      radians: fit.p[TURN],
      follows: both / shown,
      standard: Math.sqrt(Math.max(0, own - both ** 2 / shown)),
    },
  };
}

/** Standard deviation of the places along the shank, um, times the root of the number of sides that are seen. */
function leverOf(blocks: readonly Moved[]): number {
  const sides = SIDES.map((side) => blocks.flatMap((block) => (block.side === side ? [block.y] : [])));
  const square = (list: number[]): number => {
    const mean = list.reduce((total, y) => total + y, 0) / list.length;
    return list.reduce((total, y) => total + (y - mean) ** 2, 0) / list.length;
  };
  return Math.sqrt(sides.reduce((total, list) => total + (list.length > 0 ? square(list) : 0), 0));
}
