import { answer, type Outcome } from '../../shared/index.ts';
import { median } from '../fit/select.ts';
import { edgeWidthOf } from './edge-width.ts';
import { flanksOf, type Flanks } from './flanks.ts';
import { partIn, type Part } from './part.ts';
import type { Plane } from './planes.ts';
import { smallestFlatPx } from './smallest-flat.ts';

/** What is read off a live frame many times a second: where the tip is, how sharp it is, how it is exposed. Pixels. */
export type LightReading = {
  readonly part: Part;
  readonly flanks: Flanks;
  /** 10-90 % width of the edge beside the tip; null where it cannot be told. */
  readonly edgePx: number | null;
  /** Share of the window around the tip that is at full scale, and that is black, 0..1. */
  readonly clipped: number;
  readonly black: number;
  /** One standard deviation of a pixel of the field, grey 0..1. */
  readonly noise: number;
  readonly contrast: number;
  /** The part is brighter than the field: its rims and glints make every reading of the edge a rough one. */
  readonly lit: boolean;
  /** Smallest flat that this frame could show; null where it cannot be told. */
  readonly limitPx: number | null;
};

/** Within this of an end of the scale a pixel is lost, grey; a camera's own white is rarely exactly full scale. */
const END = 0.5 / 255;

export function readLight(plane: Plane): Outcome<LightReading> {
  const part = partIn(plane);
  if (!part.ok) return part;
  const { located } = part.value;
  // Edges that cannot be followed still have a place, so that the pose can be found again.
  const flanks = flanksOf(plane, part.value) ?? roughFlanks(part.value);
  const edge = edgeWidthOf(plane, flanks);
  const noise = fieldNoise(plane, part.value);
  const ends = endsAround(plane, located.xPx, located.yPx, 4 * flanks.radiusPx);
  const limit =
    edge === null
      ? null
      : smallestFlatPx({
          radiusPx: flanks.radiusPx,
          edgePx: edge.widthPx,
          noise: Math.max(noise, 0.1 / 255),
          contrast: edge.contrast,
          lit: edge.lit,
        });
  return answer({
    part: part.value,
    flanks,
    edgePx: edge?.widthPx ?? null,
    ...ends,
    noise,
    contrast: edge?.contrast ?? 0,
    lit: edge?.lit ?? false,
    limitPx: limit !== null && Number.isFinite(limit) ? limit : null,
  });
}

function roughFlanks({ located }: Part): Flanks {
  const half = (located.halfLeft + located.halfRight) / 2;
  const down = located.radiusPx / Math.sin(half);
  return {
    ...located,
    halfLeft: half,
    halfRight: half,
    vertexX: located.xPx + down * Math.sin(located.rotation),
    vertexY: located.yPx + down * Math.cos(located.rotation),
    lengthPx: located.flankPx,
    residualPx: located.flankResidualPx,
  };
}

/** Share of pixels at full scale and at black in a window around the tip, every second pixel looked at. */
function endsAround(
  { width, height, data }: Plane,
  x: number,
  y: number,
  reach: number,
): { clipped: number; black: number } {
  let n = 0;
  let clipped = 0;
  let black = 0;
  for (let j = Math.max(0, Math.round(y - reach)); j < Math.min(height, y + reach); j += 2)
    for (let i = Math.max(0, Math.round(x - reach)); i < Math.min(width, x + reach); i += 2) {
      const v = data[j * width + i];
      n++;
      if (v >= 1 - END) clipped++;
      if (v <= END) black++;
    }
  return { clipped: clipped / Math.max(1, n), black: black / Math.max(1, n) };
}

/** Robust spread of the field from pixel to pixel: differences of neighbours two apart, the slow fall-off drops out. */
function fieldNoise({ width, height, data }: Plane, { field }: Part): number {
  const differences: number[] = [];
  const step = Math.max(3, Math.round(Math.min(width, height) / 110));
  for (let y = 2; y < height - 2; y += step)
    for (let x = 2; x < width - 4; x += step) {
      const i = y * width + x;
      const level = field(x, y);
      if (Math.abs(data[i] - level) > 0.08 || Math.abs(data[i + 2] - level) > 0.08) continue;
      differences.push(Math.abs(data[i] - data[i + 2]));
    }
  return differences.length < 20 ? 0 : (1.4826 * median(differences)) / Math.SQRT2;
}
