import type { Capture, View } from '../../shared/index.ts';
import type { Pose } from './pictograms.tsx';

/** The pictures that a new stylus should have, in the order in which the part is turned least. */
export type Step = {
  readonly view: View & Pose;
  readonly name: string;
  readonly light: Capture['light'];
  readonly drawing: string;
  readonly hold: readonly string[];
  readonly why: string;
  readonly cautions: readonly string[];
};

/** What a picture is looked at for. From the side it may show the whole cantilever, or its end with the tip large. */
export function waysToLook(view: View): readonly ('capture.examine' | 'capture.cantilever')[] {
  if (view === 'side') return ['capture.cantilever', 'capture.examine'];
  return view === 'below' || view === 'above' ? ['capture.cantilever'] : ['capture.examine'];
}

export const STEPS: readonly Step[] = [
  {
    view: 'front',
    name: 'Front',
    light: 'backlit',
    drawing:
      'The microscope looks level at the cartridge’s front, along the groove; the lamp stands behind the tip and shines towards the microscope.',
    hold: [
      'Sight line level with the record’s surface and along the groove, the cantilever running away from you.',
      'Light from behind, so that the tip is dark on a bright ground without glare: a small lamp some way off, no screen and no paper close behind.',
      'Tip and a good piece of the shank inside the frame.',
    ],
    why: 'Flats of both groove walls are seen edge-on in this view only. Two degrees of turn hide a fifth of their depth.',
    cautions: [
      'Mute or turn down the amplifier before touching stylus, cartridge or plugs.',
      'The microscope’s barrel must not touch the cantilever: come near slowly, from the front.',
    ],
  },
  {
    view: 'side',
    name: 'Side',
    light: 'backlit',
    drawing:
      'The microscope looks level across the groove at the cantilever’s side; the light comes from behind it.',
    hold: [
      'Turn the part or the microscope by a quarter about the upright: sight line level, across the groove.',
      'Tip, shank and the cantilever inside the frame, best from its root on, so that a bend can be measured; light from behind.',
    ],
    why: 'Shows how the diamond stands, chips at its front and back, and the end of the cantilever.',
    cautions: ['Turn the holder, not the stylus: fingers near the cantilever bend it.'],
  },
  {
    view: 'end-on',
    name: 'End-on',
    light: 'ring',
    drawing:
      'The part lies upside down with its tip up; the microscope looks down along the shank; a ring light sits around the barrel.',
    hold: [
      'Part upside down on something soft, tip up; look straight along the shank.',
      'Ring or side light. Take it down until no glint is plain white.',
    ],
    why: 'Worn facets shine here; their length along the groove tells what is lost at high frequencies. A new tip shows none.',
    cautions: [
      'The tip now points up: it is sharp and small enough to be swallowed. Nothing may fall or press on it.',
      'Lay it on its body, never on the cantilever.',
    ],
  },
  {
    view: 'below',
    name: 'Cantilever from below',
    light: 'backlit',
    drawing: 'The microscope looks up at the cantilever from below; the light comes from above.',
    hold: [
      'Further away, a coarser scale: the whole cantilever from its root to the tip in one picture.',
      'Sight line at right angles to the cantilever, from where the record would lie.',
    ],
    why: 'Shows a cantilever that is bent to one side or stands skew, before it is ever played.',
    cautions: ['Put the guard back afterwards.', 'Do not blow on the stylus with the mouth.'],
  },
];
