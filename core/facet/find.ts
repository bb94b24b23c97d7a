import type { GreyImage } from '../image/grey.ts';

/** Where two bright patches may lie: middle between them and the half distance, px; direction from left to right. */
export type PairStart = {
  readonly x: number;
  readonly y: number;
  readonly half: number;
  /** Radians, from +x towards +y (down on screen). */
  readonly angle: number;
  /** First guess of both half axes, px, of the patch at the end and at the start of the direction. */
  readonly sizes: readonly [number, number];
};

export type Bright = {
  readonly starts: PairStart[];
  /** Grey level of the surroundings and of the brightest places, 0..1. */
  readonly ground: number;
  readonly top: number;
  /** Part of the bright pixels at full scale. */
  readonly clipped: number;
};

type Blob = { x: number; y: number; area: number; xx: number; xy: number; yy: number; clipped: number };

/**
 * Flats are the brightest places of an end-on picture. Blobs above half of the way from the ground to the top; two of
 * them, or one in which both run together with a lamp's ring. null when nothing stands out.
 */
export function findBright(image: GreyImage, umPerPx: number): Bright | null {
  const soft = smoothed(image);
  const sorted = Float32Array.from({ length: Math.floor(soft.length / 7) }, (_, i) => soft[7 * i]).toSorted();
  const ground = sorted[Math.floor(sorted.length / 2)];
  const noise = sorted[Math.floor(0.84 * sorted.length)] - ground;
  const top = soft.reduce((a, b) => Math.max(a, b), 0);
  if (!(top - ground > Math.max(0.12, 3 * noise))) return null;
  const blobs = blobsAbove(image, soft, (ground + top) / 2);
  // Nothing that matters is smaller than 8 um^2 or larger than a tip.
  const least = 8 / (umPerPx * umPerPx);
  const good = blobs.filter((b) => b.area > least && b.area < 2500 / (umPerPx * umPerPx));
  const clipped =
    good.reduce((s, b) => s + b.clipped, 0) /
    Math.max(
      1,
      good.reduce((s, b) => s + b.area, 0),
    );
  return { starts: pairStarts(good, umPerPx), ground, top, clipped };
}

function smoothed(image: GreyImage): Float32Array {
  const { width, height, data } = image;
  const out = new Float32Array(data.length);
  for (let y = 1; y < height - 1; y++)
    for (let x = 1; x < width - 1; x++) {
      const i = y * width + x;
      const side = data[i - 1] + data[i + 1] + data[i - width] + data[i + width];
      const corner = data[i - width - 1] + data[i - width + 1] + data[i + width - 1] + data[i + width + 1];
      out[i] = (4 * data[i] + 2 * side + corner) / 16;
    }
  return out;
}

function blobsAbove(image: GreyImage, soft: Float32Array, level: number): Blob[] {
  const { width, height, data } = image;
  const seen = new Uint8Array(soft.length);
  const blobs: Blob[] = [];
  for (let start = 0; start < soft.length; start++) {
    if (seen[start] || soft[start] < level) continue;
    const stack = [start];
    seen[start] = 1;
    let [n, sx, sy, sxx, sxy, syy, clipped] = [0, 0, 0, 0, 0, 0, 0];
    while (stack.length > 0) {
      const i = stack.pop()!;
      const x = i % width;
      const y = (i - x) / width;
      n++;
      sx += x;
      sy += y;
      sxx += x * x;
      sxy += x * y;
      syy += y * y;
      if (data[i] >= 0.985) clipped++;
      for (const [dx, dy] of [
        [1, 0],
        [-1, 0],
        [0, 1],
        [0, -1],
      ] as const) {
        const [u, v] = [x + dx, y + dy];
        if (u < 0 || v < 0 || u >= width || v >= height) continue;
        const j = v * width + u;
        if (seen[j] || soft[j] < level) continue;
        seen[j] = 1;
        stack.push(j);
      }
    }
    const [mx, my] = [sx / n, sy / n];
    blobs.push({
      x: mx,
      y: my,
      area: n,
      xx: sxx / n - mx * mx,
      xy: sxy / n - mx * my,
      yy: syy / n - my * my,
      clipped,
    });
  }
  return blobs.toSorted((a, b) => b.area - a.area);
}

function pairStarts(blobs: Blob[], umPerPx: number): PairStart[] {
  const out: PairStart[] = [];
  const some = blobs.slice(0, 5);
  for (let i = 0; i < some.length; i++)
    for (let j = i + 1; j < some.length; j++) {
      const [a, b] = some[i].x <= some[j].x ? [some[i], some[j]] : [some[j], some[i]];
      const distance = Math.hypot(b.x - a.x, b.y - a.y);
      // Two contacts of tips from 12 to 40 um: sqrt(2) R apart at most.
      if (distance * umPerPx < 9 || distance * umPerPx > 60) continue;
      out.push({
        x: (a.x + b.x) / 2,
        y: (a.y + b.y) / 2,
        half: distance / 2,
        angle: Math.atan2(b.y - a.y, b.x - a.x),
        sizes: [Math.sqrt(b.area / Math.PI), Math.sqrt(a.area / Math.PI)],
      });
    }
  return [...out.slice(0, 4), ...runTogether(some, umPerPx)];
}

/** Patches and a ring run together, wholly or in part: along the long axis of all of it, at several distances. */
function runTogether(blobs: Blob[], umPerPx: number): PairStart[] {
  const first = blobs[0];
  if (first === undefined) return [];
  const near = blobs.filter((b) => Math.hypot(b.x - first.x, b.y - first.y) * umPerPx < 45);
  const area = near.reduce((sum, b) => sum + b.area, 0);
  const mean = (value: (b: Blob) => number): number =>
    near.reduce((sum, b) => sum + b.area * value(b), 0) / area;
  const [mx, my] = [mean((b) => b.x), mean((b) => b.y)];
  const xx = mean((b) => b.xx + (b.x - mx) ** 2);
  const xy = mean((b) => b.xy + (b.x - mx) * (b.y - my));
  const yy = mean((b) => b.yy + (b.y - my) ** 2);
  const spread = Math.hypot(xx - yy, 2 * xy);
  // As wide as long: a ring of the lamp alone, with no patch beside it.
  if (near.length === 1 && xx + yy - spread > 0.75 * (xx + yy + spread)) return [];
  const angle = 0.5 * Math.atan2(2 * xy, xx - yy);
  const size = 4 / umPerPx;
  return [10, 14, 18].map((half) => ({
    x: mx,
    y: my,
    half: half / umPerPx,
    angle,
    sizes: [size, size] as const,
  }));
}
