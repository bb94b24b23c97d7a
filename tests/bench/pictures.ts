import { existsSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { encodeCapture } from '../../fixtures/render/encode.ts';
import { randomFrontSpecs, type FrontPairSpecs } from '../../fixtures/render/front-random.ts';
import { renderFront, type FrontSpec } from '../../fixtures/render/front.ts';

/**
 * The pictures that everything is timed on: rendered pairs with fixed seeds, kept between runs. Ordinary cases, as a
 * person with a USB microscope has them: three of four lit from behind, any turn, JPEG. No two are alike, so nothing
 * can be answered from a store of earlier answers.
 */
export type PairFile = {
  readonly id: string;
  readonly view: 'front';
  readonly baseline: string;
  readonly later: string;
  readonly baselineScaleUmPerPx: number;
  readonly laterScaleUmPerPx: number;
};

const SMALL = { widthPx: 1280, heightPx: 960 };
const LARGE = { widthPx: 2592, heightPx: 1944 };
export const SMALL_PAIRS = 50;
export const LARGE_PAIRS = 6;

export const ALL_PAIRS = SMALL_PAIRS + LARGE_PAIRS;

const fills = (spec: FrontSpec): boolean =>
  spec.widthPx === SMALL.widthPx && spec.heightPx === SMALL.heightPx;

/** The nth pair whose two frames are both 1280 x 960. */
function smallSpecs(wanted: number): FrontPairSpecs[] {
  const found: FrontPairSpecs[] = [];
  for (let seed = 1; found.length < wanted; seed++) {
    const specs = randomFrontSpecs(seed, {
      light: seed % 4 === 0 ? 'ring' : 'backlit',
      largestRadiusUm: 25,
      umPerPx: [0.6, 1.1],
      blurSigmaUm: [1, 2],
      jpegQuality: [85, 95],
    });
    if (fills(specs.baseline) && fills(specs.later)) found.push(specs);
  }
  return found;
}

/** The same part on a finer sensor: as many micrometres in the frame, blur in micrometres unchanged. */
function enlarged(spec: FrontSpec): FrontSpec {
  const factor = LARGE.widthPx / spec.widthPx;
  const { pose } = spec;
  return {
    ...spec,
    ...LARGE,
    umPerPx: spec.umPerPx / factor,
    pose: { ...pose, tipXPx: pose.tipXPx * factor, tipYPx: pose.tipYPx * factor },
  };
}

type Planned = { readonly name: string; readonly specs: FrontPairSpecs };

function planned(): Planned[] {
  const small = smallSpecs(SMALL_PAIRS);
  const large = small.slice(0, LARGE_PAIRS);
  const number = (i: number): string => String(i + 1).padStart(2, '0');
  return [
    ...small.map((specs, i) => ({ name: `small-${number(i)}`, specs })),
    ...large.map(({ baseline, later }, i) => ({
      name: `large-${number(i)}`,
      specs: { baseline: enlarged(baseline), later: enlarged(later) },
    })),
  ];
}

const pairFile = ({ name, specs }: Planned): PairFile => ({
  id: name,
  view: 'front',
  baseline: `${name}-baseline.jpg`,
  later: `${name}-later.jpg`,
  baselineScaleUmPerPx: specs.baseline.umPerPx,
  laterScaleUmPerPx: specs.later.umPerPx,
});

export function pairFiles(size: 'small' | 'large'): PairFile[] {
  return planned()
    .filter((pair) => pair.name.startsWith(size))
    .map(pairFile);
}

/** Renders the first `pairs` of all, as far as they are in this share and not in the folder yet. */
export async function renderShare(
  folder: string,
  share: number,
  shares: number,
  pairs: number = ALL_PAIRS,
): Promise<void> {
  const wanted = planned().slice(0, pairs);
  for (const pair of wanted.filter((_, i) => i % shares === share)) {
    const file = pairFile(pair);
    for (const [name, spec] of [
      [file.baseline, pair.specs.baseline],
      [file.later, pair.specs.later],
    ] as const) {
      const path = join(folder, name);
      if (!existsSync(path)) writeFileSync(path, await encodeCapture(renderFront(spec)));
    }
  }
}

/** The command line's own pairs file, beside the pictures; returns its path. */
export function writePairsFile(folder: string, name: string, pairs: readonly PairFile[]): string {
  mkdirSync(folder, { recursive: true });
  const path = join(folder, `${name}.jsonl`);
  writeFileSync(path, pairs.map((pair) => `${JSON.stringify(pair)}\n`).join(''));
  return path;
}
