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

/** What `normalBoth` found last. */
export let cdf: f64 = 0;
export let density: f64 = 0;

/** Distribution function and density at z. */
export function normalBoth(z: f64): void {
  if (z <= -TABLE || z >= TABLE) {
    cdf = z < 0 ? 0 : 1;
    density = 0;
    return;
  }
  const i = <i32>((z + TABLE) * PER_UNIT + 0.5);
  const node = <f64>i / PER_UNIT - TABLE;
  const d = z - node;
  const high = at(table, 2 * i + 1);
  const q = node * node - 1;
  cdf = at(table, 2 * i) + d * high * (1 - 0.5 * d * (node - (d * q) / 3));
  density = high * (1 - d * (node - 0.5 * d * q));
}
