import { laidOut } from './memory.ts';

/**
 * The few operations on whole pictures that finding a part needs: typed arrays in, new typed arrays out. They are those of
 * OpenCV 4.3 (GaussianBlur, resize with INTER_AREA, morphologyEx, findContours) to the last bit, which tests/core/cv
 * holds them against; the library itself is 7 MB of code for four functions and took a third of a second to load.
 */

const F32 = 4;

/** Taps of a Gaussian, four sigma to either side, which add up to one before they are rounded to single precision. */
function gaussian(sigmaPx: number): Float32Array {
  const size = Math.round(sigmaPx * 8 + 1) | 1;
  const taps = Array.from({ length: size }, (_, i) =>
    Math.exp((-0.5 / (sigmaPx * sigmaPx)) * (i - (size - 1) / 2) ** 2),
  );
  const scale = 1 / taps.reduce((sum, tap) => sum + tap, 0);
  return Float32Array.from(taps, (tap) => tap * scale);
}

/** As in `kernel/assembly/blur.ts`. */
const TOGETHER = 16;

/** Gaussian blur of a float plane, sigma in pixels, 0.75 or more, or 0 for none; borders replicated. */
export function blurPlane(data: Float32Array, width: number, height: number, sigmaPx: number): Float32Array {
  if (sigmaPx <= 0) return data.slice();
  const kernel = gaussian(sigmaPx);
  const size = kernel.length;
  const half = (size - 1) / 2;
  const row = (width + size + TOGETHER) * F32;
  const { code, at } = laidOut([kernel.byteLength, size * F32, row, row, size * row]);
  const [taps, list, source, sum, ring] = at;
  const { buffer } = code.memory;
  new Float32Array(buffer, taps, size).set(kernel);
  const addresses = new Uint32Array(buffer, list, size);
  const line = new Float32Array(buffer, source, width + size);
  const result = new Float32Array(buffer, sum, width);
  const step = Math.ceil(row / 16) * 16;
  const slot = (y: number): number => ring + (y % size) * step;
  const out = new Float32Array(width * height);
  let filtered = 0;
  for (let y = 0; y < height; y++) {
    for (; filtered < Math.min(height, y + half + 1); filtered++) {
      const from = filtered * width;
      line.fill(data[from], 0, half);
      line.set(data.subarray(from, from + width), half);
      line.fill(data[from + width - 1], half + width);
      code.blurRow(source, taps, size, width, slot(filtered));
    }
    for (let k = 0; k < size; k++) addresses[k] = slot(Math.min(height - 1, Math.max(0, y + k - half)));
    code.blurColumns(list, taps, half, width, sum);
    out.set(result, y * width);
  }
  return out;
}

/** What share each source cell has in which cell of the copy, along one axis; cells in order. */
type Share = { readonly from: number; readonly to: number; readonly share: number };

/** The least share of a cell that counts, in cells. */
const LEAST_SHARE = 1e-3;

function sharesOf(size: number, toSize: number): Share[] {
  const scale = 1 / (toSize / size);
  const shares: Share[] = [];
  for (let to = 0; to < toSize; to++) {
    const begin = to * scale;
    const end = begin + scale;
    const cell = Math.min(scale, size - begin);
    const last = Math.min(Math.floor(end), size - 1);
    const first = Math.min(Math.ceil(begin), last);
    if (first - begin > LEAST_SHARE) shares.push({ from: first - 1, to, share: (first - begin) / cell });
    for (let from = first; from < last; from++) shares.push({ from, to, share: 1 / cell });
    if (end - last > LEAST_SHARE)
      shares.push({ from: last, to, share: Math.min(Math.min(end - last, 1), cell) / cell });
  }
  return shares;
}

/** Area-averaged reduction to `toWidth` x `toHeight`, neither larger than the picture nor nothing; else a RangeError. */
export function reducePlane(
  data: Float32Array,
  width: number,
  height: number,
  toWidth: number,
  toHeight: number,
): Float32Array {
  if (!(toWidth >= 1 && toHeight >= 1 && toWidth <= width && toHeight <= height))
    throw new RangeError(`reducePlane: ${width} x ${height} cannot be reduced to ${toWidth} x ${toHeight}`);
  const [across, down] = [1 / (toWidth / width), 1 / (toHeight / height)];
  const isWhole = (factor: number): boolean => Math.abs(factor - Math.round(factor)) < Number.EPSILON;
  return isWhole(across) && isWhole(down)
    ? reduceByBlocks(data, width, Math.round(across), Math.round(down), toWidth, toHeight)
    : reduceByShares(data, width, height, toWidth, toHeight);
}

function reduceByBlocks(
  data: Float32Array,
  width: number,
  across: number,
  down: number,
  toWidth: number,
  toHeight: number,
): Float32Array {
  const { code, at } = laidOut([width * down * F32, toWidth * F32]);
  const [source, means] = at;
  const rows = new Float32Array(code.memory.buffer, source, width * down);
  const result = new Float32Array(code.memory.buffer, means, toWidth);
  const out = new Float32Array(toWidth * toHeight);
  for (let y = 0; y < toHeight; y++) {
    rows.set(data.subarray(y * down * width, (y + 1) * down * width));
    code.meanOfBlocks(source, width, across, down, toWidth, means);
    out.set(result, y * toWidth);
  }
  return out;
}

const ENTRY = 12;

function reduceByShares(
  data: Float32Array,
  width: number,
  height: number,
  toWidth: number,
  toHeight: number,
): Float32Array {
  const columns = sharesOf(width, toWidth);
  const room = (toWidth + 3) * F32;
  const { code, at } = laidOut([width * F32, columns.length * ENTRY, room, room]);
  const [source, table, reduced, sum] = at;
  const { buffer } = code.memory;
  const entries = new DataView(buffer, table, columns.length * ENTRY);
  for (const [i, { from, to, share }] of columns.entries()) {
    entries.setUint32(i * ENTRY, from, true);
    entries.setUint32(i * ENTRY + 4, to, true);
    entries.setFloat32(i * ENTRY + 8, share, true);
  }
  const line = new Float32Array(buffer, source, width);
  const result = new Float32Array(buffer, sum, toWidth);
  const out = new Float32Array(toWidth * toHeight);
  let [lastFrom, lastTo] = [-1, -1];
  for (const { from, to, share } of sharesOf(height, toHeight)) {
    // A row on the border between two of the copy is reduced once.
    if (from !== lastFrom) {
      line.set(data.subarray(from * width, (from + 1) * width));
      code.reduceRow(source, table, columns.length, toWidth, reduced);
    }
    if (to !== lastTo && lastTo >= 0) out.set(result, lastTo * toWidth);
    code.addRow(reduced, share, toWidth, sum, to === lastTo ? 0 : 1);
    [lastFrom, lastTo] = [from, to];
  }
  out.set(result, lastTo * toWidth);
  return out;
}

export type Blob = { readonly areaPx: number; readonly x: Float64Array; readonly y: Float64Array };

/** As in `kernel/assembly/spread.ts`. */
const MARGIN = 16;
const ROWS = 2;
/** Shorter borders are dirt. */
const LEAST_BORDER_PX = 40;

/**
 * Outer contours of the connected parts of a 0/255 mask after closing gaps up to `closePx` and removing what is
 * thinner than `openPx` (0: nothing), largest area first.
 * Holes are filled by taking outer contours only. Points are whole pixels of the part's rim, in order.
 */
export function outerContours(
  mask: Uint8Array,
  width: number,
  height: number,
  closePx: number,
  openPx: number,
  most: number,
): Blob[] {
  const stride = MARGIN + Math.ceil(width / 16) * 16 + MARGIN;
  const room = stride * (height + 2 * ROWS);
  const { code, at } = laidOut([room, room, room]);
  const [plane, across, other] = at;
  const bytes = new Uint8Array(code.memory.buffer);
  for (let y = 0; y < height; y++)
    bytes.set(mask.subarray(y * width, (y + 1) * width), plane + (y + ROWS) * stride + MARGIN);
  // Many small steps instead of one large shape: the same reach (two pixels a step), a fraction of the work.
  const spread = (px: number, round: 0 | 1, grow: 0 | 1): void =>
    code.spread(plane, across, other, width, height, stride, Math.max(1, Math.round(px / 4)), round, grow);
  // closing fills notches, for which a square is as good; opening rounds a tip, which must not depend on how the tip is
  // turned
  spread(closePx, 0, 1);
  spread(closePx, 0, 0);
  if (openPx > 0) {
    spread(openPx, 1, 0);
    spread(openPx, 1, 1);
  }
  code.seal(plane, width, height, stride);
  const end = code.outlines(plane, width, height, stride, LEAST_BORDER_PX, across);
  return blobsOf(new Int32Array(code.memory.buffer, across, (end - across) / 4), stride).slice(0, most);
}

/** From the list that the kernel writes; of two parts of one size the lower one first. */
function blobsOf(list: Int32Array, stride: number): Blob[] {
  const found: Blob[] = [];
  for (let at = 0; at < list.length; at += list[at] + 1) {
    const n = list[at];
    const x = new Float64Array(n);
    const y = new Float64Array(n);
    for (let k = 0; k < n; k++) {
      const place = list[at + 1 + k];
      y[k] = Math.floor(place / stride);
      x[k] = place - y[k] * stride;
    }
    found.push({ areaPx: areaOf(x, y), x, y });
  }
  return found.toReversed().sort((a, b) => b.areaPx - a.areaPx);
}

/** Of the polygon through the middles of the border's pixels. */
function areaOf(x: Float64Array, y: Float64Array): number {
  let twice = 0;
  for (let k = 0, before = x.length - 1; k < x.length; before = k++)
    twice += x[before] * y[k] - y[before] * x[k];
  return Math.abs(twice) / 2;
}
