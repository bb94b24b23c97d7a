import type { Pixels } from '../../../fixtures/render/camera.ts';
import {
  frontScene,
  renderFrontFrames,
  type FrontSpec,
  type FrontTruth,
} from '../../../fixtures/render/front.ts';

/** A front view as a live camera sees it: 1 um/px, ordinary noise, backlit. */
export function liveSpec(part: Partial<FrontSpec> = {}): FrontSpec {
  return {
    seed: 11,
    widthPx: 320,
    heightPx: 240,
    umPerPx: 1,
    tip: {
      radiusUm: 18,
      halfAngleLeftDeg: 27,
      halfAngleRightDeg: 27,
      shankWidthUm: 110,
      flats: { left: { widthUm: 0 }, right: { widthUm: 0 } },
    },
    pose: { tipXPx: 165, tipYPx: 150, rotationDeg: 3 },
    light: 'backlit',
    camera: { blurSigmaUm: 1.6, fullWellElectrons: 5000, readNoiseElectrons: 6 },
    interiorSeed: 5,
    ...part,
  };
}

export function rgbaOf({ width, height, channels, data }: Pixels): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(4 * width * height);
  for (let i = 0; i < width * height; i++) {
    for (let c = 0; c < 3; c++) out[4 * i + c] = data[channels * i + (channels === 3 ? c : 0)];
    out[4 * i + 3] = 255;
  }
  return out;
}

export const liveFrames = (
  spec: FrontSpec,
  count: number,
): { frames: Uint8Array<ArrayBuffer>[]; truth: FrontTruth } => {
  const pictures = renderFrontFrames(spec, count);
  return { frames: pictures.map(rgbaOf), truth: pictures[0].truth };
};

/** The same scene without any noise, grey 0..255 before rounding. */
export const noiseless = (spec: FrontSpec): Float64Array => {
  const { scene } = frontScene(spec);
  return Float64Array.from(scene.data, (v) => 255 * Math.min(1, Math.max(0, v)));
};
