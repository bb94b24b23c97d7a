import { at } from './memory';

/** As in `normal-table.ts`. */
export const TABLE: f64 = 6;
export const PER_UNIT: f64 = 64;
export const INV_ROOT_2PI: f64 = 0.3989422804014327;

/** Distribution function and density side by side at every node. */
export let table: usize = 0;

export function useTable(address: usize): void {
  table = address;
}

/** What `normalPair` found last: distribution function and density of each. */
export let cdfs: v128 = i64x2.splat(0);
export let densities: v128 = i64x2.splat(0);

/** Distribution function and density at two places at once. */
export function normalPair(z: v128): void {
  const end = f64x2.splat(TABLE);
  const held = f64x2.pmax(f64x2.neg(end), f64x2.pmin(end, z));
  const scaled = f64x2.mul(f64x2.add(held, end), f64x2.splat(PER_UNIT));
  const places = i32x4.trunc_sat_f64x2_s_zero(f64x2.add(scaled, f64x2.splat(0.5)));
  const node = f64x2.sub(f64x2.mul(f64x2.convert_low_i32x4_s(places), f64x2.splat(1 / PER_UNIT)), end);
  const first = v128.load(table + ((<usize>i32x4.extract_lane(places, 0)) << 4));
  const second = v128.load(table + ((<usize>i32x4.extract_lane(places, 1)) << 4));
  const low = v128.shuffle<f64>(first, second, 0, 2);
  const high = v128.shuffle<f64>(first, second, 1, 3);
  const d = f64x2.sub(z, node);
  const one = f64x2.splat(1);
  const halfD = f64x2.mul(f64x2.splat(0.5), d);
  const q = f64x2.sub(f64x2.mul(node, node), one);
  const bent = f64x2.sub(node, f64x2.mul(f64x2.mul(d, q), f64x2.splat(1.0 / 3)));
  const cdfNear = f64x2.add(low, f64x2.mul(f64x2.mul(d, high), f64x2.sub(one, f64x2.mul(halfD, bent))));
  const falling = f64x2.sub(node, f64x2.mul(halfD, q));
  const near = f64x2.mul(high, f64x2.sub(one, f64x2.mul(d, falling)));
  const beyond = v128.or(f64x2.le(z, f64x2.neg(end)), f64x2.ge(z, end));
  const far = v128.andnot(one, f64x2.lt(z, f64x2.splat(0)));
  cdfs = v128.bitselect(far, cdfNear, beyond);
  densities = v128.andnot(near, beyond);
}
