import type { DecodedPicture } from '../index.ts';
import { answer, refuse, type Outcome } from '../../shared/index.ts';
import { estimateBackground, levelAt, type Background, type Surface } from '../image/background.ts';
import { median } from '../fit/select.ts';
import { toGrey, toLight, type GreyImage } from '../image/grey.ts';
import type { Planes } from '../image/planes.ts';
import { locateTip, NOTHING_SEEN, type Located } from './locate.ts';
import type { Prepared } from './single.ts';

/** More of the field than this at full scale: no edge can be located against it. */
const MOST_CLIPPED = 0.7;

/**
 * Grey plane, field, tip: everything that must be known before a fit. Refuses with the reason. A tip that is `given` is
 * believed and not searched. With `planes` what is prepared lasts no longer than they do.
 */
export function prepareCapture(
  picture: DecodedPicture,
  umPerPx: number,
  given?: Located,
  planes?: Planes,
): Outcome<Prepared> {
  const image = toGrey(picture, planes);
  const background = estimateBackground(image);
  const located = given === undefined ? locateTip(image, background) : answer(given);
  // a drawing or a page on white is no burnt-out tip
  if (background.clipped > MOST_CLIPPED && (located.ok || located === NOTHING_SEEN))
    return refuse(
      'over-exposed',
      'The field around the tip is burnt out, so the edge has lost its bright half. Lower the exposure or the light until nothing is clipped, and take it again.',
    );
  if (!located.ok) return located;
  return answer(preparedFrom(image, background, located.value, umPerPx));
}

function preparedFrom(image: GreyImage, background: Background, l: Located, umPerPx: number): Prepared {
  const { dark, contrast } = polarity(image, background.surface, l);
  return {
    image,
    background,
    located: l,
    umPerPx,
    darkPart: dark,
    contrast,
    fieldAtTip: levelAt(background.surface, l.xPx, l.yPx),
    linearised: false,
  };
}

/** The same capture with its grey values taken for sRGB and turned into light. */
export function linearised(prepared: Prepared): Prepared {
  const image = toLight(prepared.image);
  return {
    ...preparedFrom(image, estimateBackground(image), prepared.located, prepared.umPerPx),
    linearised: true,
  };
}

/** Is the part darker than the field, and by how much, a few pixels inside its rim. */
function polarity(
  image: GreyImage,
  field: Surface,
  l: { xPx: number; yPx: number; rotation: number; radiusPx: number },
): { dark: boolean; contrast: number } {
  const differences: number[] = [];
  const c = Math.cos(l.rotation);
  const s = Math.sin(l.rotation);
  const r = l.radiusPx;
  for (let i = -8; i <= 8; i++)
    for (let j = -12; j <= 3; j++) {
      const u = (i / 8) * 0.75 * r;
      const v = (j / 6) * r;
      const x = Math.round(l.xPx + c * u + s * v);
      const y = Math.round(l.yPx - s * u + c * v);
      if (x < 0 || y < 0 || x >= image.width || y >= image.height) continue;
      differences.push(image.data[y * image.width + x] - levelAt(field, x, y));
    }
  const middle = differences.length ? median(differences) : 0;
  return {
    dark: middle < 0,
    contrast: Math.max(0.02, differences.length ? median(differences.map(Math.abs)) : 0),
  };
}
