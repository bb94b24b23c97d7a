import sharp from 'sharp';
import { answer, refuse, tipToImage } from '../../../shared/index.ts';
import type { Outcome, Pose } from '../../../shared/index.ts';
import { openPicture, unreadableBecause } from './open.ts';
import type { ShownPicture } from './inspect.ts';

/**
 * Two captures in one picture, both warped into the tip frame: what both show is grey to
 * black, what only the baseline shows (material gone) is light orange, what only the later one shows is dark blue. The two inks also differ in brightness, for greyscale prints.
 */
const ORANGE = [230, 159, 0] as const;
const BLUE = [0, 114, 178] as const;

/** Part of the tip frame to draw: um from left to right and top to bottom, and the um that one pixel covers. */
export type Window = {
  readonly leftUm: number;
  readonly topUm: number;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly umPerPx: number;
};

type Grey = { readonly width: number; readonly height: number; readonly data: Uint8Array };

async function greyOf(bytes: Uint8Array): Promise<Outcome<Grey>> {
  const opened = await openPicture(bytes);
  if (!opened.ok) return opened;
  try {
    const { data, info } = await opened.value
      .sharp()
      .removeAlpha()
      .toColourspace('b-w')
      .raw({ depth: 'uchar' })
      .toBuffer({ resolveWithObject: true });
    if (info.channels !== 1) return refuse('unreadable-image', 'The picture could not be turned grey.');
    return answer({ width: info.width, height: info.height, data: new Uint8Array(data) });
  } catch (error) {
    return unreadableBecause(error);
  }
}

/** Bilinear; pixel centres on whole numbers. Outside the picture there is nothing: NaN. */
function sample({ width, height, data }: Grey, x: number, y: number): number {
  const x0 = Math.floor(x);
  const y0 = Math.floor(y);
  if (x0 < 0 || y0 < 0 || x0 + 1 >= width || y0 + 1 >= height) return Number.NaN;
  const fx = x - x0;
  const fy = y - y0;
  const i = y0 * width + x0;
  const top = data[i] * (1 - fx) + data[i + 1] * fx;
  const bottom = data[i + width] * (1 - fx) + data[i + width + 1] * fx;
  return top * (1 - fy) + bottom * fy;
}

function warp(grey: Grey, pose: Pose, window: Window): Float32Array {
  const out = new Float32Array(window.widthPx * window.heightPx);
  for (let row = 0; row < window.heightPx; row++)
    for (let column = 0; column < window.widthPx; column++) {
      const tip = {
        x: window.leftUm + column * window.umPerPx,
        y: window.topUm + row * window.umPerPx,
      };
      const at = tipToImage(pose, tip);
      out[row * window.widthPx + column] = sample(grey, at.x, at.y);
    }
  return out;
}

/** Ink from 0 (as bright as the background) to 1 (as dark as the part): levels differ between two captures. */
function inkOf(values: Float32Array): Float32Array {
  const known = values.filter((value) => !Number.isNaN(value)).toSorted();
  const dark = known[Math.floor(known.length * 0.02)] ?? 0;
  const bright = known[Math.floor(known.length * 0.98)] ?? 255;
  const span = Math.max(1, bright - dark);
  return values.map((value) => (Number.isNaN(value) ? 0 : Math.min(1, Math.max(0, (bright - value) / span))));
}

function mix(baseline: Float32Array, later: Float32Array): Uint8Array {
  const rgb = new Uint8Array(baseline.length * 3);
  for (let i = 0; i < baseline.length; i++)
    for (let c = 0; c < 3; c++) {
      // Common darkness stays without colour; only what one of them has alone is inked.
      const both = Math.min(baseline[i], later[i]);
      const taken =
        both * 255 + (baseline[i] - both) * (255 - ORANGE[c]) + (later[i] - both) * (255 - BLUE[c]);
      rgb[i * 3 + c] = Math.max(0, Math.round(255 - taken));
    }
  return rgb;
}

export async function overlayPictures(
  baseline: { bytes: Uint8Array; pose: Pose },
  later: { bytes: Uint8Array; pose: Pose },
  window: Window,
): Promise<Outcome<ShownPicture>> {
  const first = await greyOf(baseline.bytes);
  if (!first.ok) return first;
  const second = await greyOf(later.bytes);
  if (!second.ok) return second;
  const rgb = mix(
    inkOf(warp(first.value, baseline.pose, window)),
    inkOf(warp(second.value, later.pose, window)),
  );
  const { widthPx, heightPx } = window;
  const png = await sharp(rgb, { raw: { width: widthPx, height: heightPx, channels: 3 } })
    .png()
    .toBuffer();
  return answer({ bytes: new Uint8Array(png), mediaType: 'image/png', widthPx, heightPx });
}
