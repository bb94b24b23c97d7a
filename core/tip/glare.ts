import { INTERIOR, kindsOf, type CaptureModel } from './capture-model.ts';
import type { Prepared } from './single.ts';
import type { Side } from './walls.ts';
import { wedgeOf } from './wedge.ts';

/** How far to both sides of a wall's place on the tip its surroundings reach, in tip radii along the outline. */
const AROUND = 0.45;
/** The inside may vary by this part of the contrast before it says that a smooth inside is not the whole truth. */
const HARMLESS = 0.33;

/**
 * How much less is to be believed of a wall of a part lit from the front whose inside varies strongly behind its edge: a
 * mirrored lamp, a bright streak, a limb that turns dark. Such an inside is never quite what a smooth free interior can
 * follow, and what it cannot follow moves the edge. 1 where it varies by up to a third of the contrast, 2 from two
 * thirds on (from the laboratory's two renderers and from no theory). `p`: local parameters of the fit.
 */
export function glare(prepared: Prepared, model: CaptureModel, p: ArrayLike<number>, side: Side): number {
  if (prepared.darkPart) return 1;
  const { knots } = model;
  const wedge = wedgeOf(p);
  const normal = Math.PI / 4 + (side === 'left' ? wedge.wallLeft : wedge.wallRight);
  const place = (side === 'left' ? -1 : 1) * wedge.radius * (Math.PI / 2 - normal);
  const n = knots.length;
  const step = (knots[n - 1] - knots[0]) / (n - 1);
  const kinds = kindsOf(model);
  let least = Infinity;
  let most = -Infinity;
  for (let i = -4; i <= 4; i++) {
    const at = Math.min(
      n - 1 - 1e-9,
      Math.max(0, (place + (i / 4) * AROUND * wedge.radius - knots[0]) / step),
    );
    const j = Math.floor(at);
    const kind = (k: number): number =>
      k < kinds ? p[INTERIOR + k * n + j] * (1 - at + j) + p[INTERIOR + k * n + j + 1] * (at - j) : 0;
    for (let u = 0; u <= 1; u += 0.25) {
      const level = kind(0) + kind(1) * u + kind(2) * 4 * u * (1 - u) + kind(3) * Math.sqrt(u);
      least = Math.min(least, level);
      most = Math.max(most, level);
    }
  }
  const varies = (most - least) / prepared.contrast;
  return 1 + Math.min(1, Math.max(0, (varies - HARMLESS) / HARMLESS));
}
