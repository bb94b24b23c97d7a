/**
 * The k-th smallest number of a list, which is reordered so that none before place k is larger and none after it smaller; a
 * NaN stands behind all numbers. Hoare's selection: a median needs no list in order, and sorting was a thirtieth of a
 * comparison's time.
 */
export function select(list: Float64Array, k: number): number {
  if (holdsNaN(list)) return list.sort()[k];
  let low = 0;
  let high = list.length - 1;
  while (low < high) {
    const pivot = middleOf(list[low], list[(low + high) >> 1], list[high]);
    let i = low;
    let j = high;
    while (i <= j) {
      while (list[i] < pivot) i++;
      while (list[j] > pivot) j--;
      if (i <= j) {
        const moved = list[i];
        list[i++] = list[j];
        list[j--] = moved;
      }
    }
    if (k <= j) high = j;
    else if (k >= i) low = i;
    else break;
  }
  return list[k];
}

function middleOf(a: number, b: number, c: number): number {
  if (a < b) return b < c ? b : a < c ? c : a;
  return a < c ? a : b < c ? c : b;
}

function holdsNaN(list: Float64Array): boolean {
  for (let i = 0; i < list.length; i++) if (Number.isNaN(list[i])) return true;
  return false;
}

/** Median of a list; NaN for an empty one. */
export function median(values: ArrayLike<number>): number {
  const list = new Float64Array(values);
  const n = list.length;
  if (n === 0) return NaN;
  const upper = n >> 1;
  const above = select(list, upper);
  if (n % 2) return above;
  let below = list[0];
  for (let i = 1; i < upper; i++) if (list[i] > below) below = list[i];
  return (below + above) / 2;
}
