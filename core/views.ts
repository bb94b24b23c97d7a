import { refuse, type Outcome, type View } from '../shared/index.ts';

/**
 * What a view cannot show, known without looking at a pixel; null where it can. These are refusals like any other: the
 * program is sound, only the wrong thing was asked of the picture.
 */
export function noTipIn(view: View): Outcome<never> | null {
  if (view !== 'below' && view !== 'above') return null;
  return refuse(
    'tip-not-found',
    `This is a cantilever view: seen from ${view}, the tip shows no outline. Measure the cantilever instead (the command cantilever), or correct the view of the picture.`,
  );
}

export function noCantileverIn(view: View): Outcome<never> | null {
  if (view !== 'front' && view !== 'end-on') return null;
  return refuse(
    'cantilever-not-found',
    'A bend is seen from the side, from below or from above. Take such a picture, or correct the view of this one.',
  );
}

/** About a pair of one view. */
export function noOutlineIn(view: View): Outcome<never> | null {
  if (view === 'front' || view === 'side') return null;
  return refuse(
    'registration-failed',
    view === 'end-on'
      ? 'Only front and side views have an outline that can be compared. Examine each end-on picture by itself (the command examine), or correct the view of both.'
      : 'Only front and side views have an outline that can be compared. Measure the cantilever in each picture by itself (the command cantilever), or correct the view of both.',
  );
}
