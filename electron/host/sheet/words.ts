/** Sentences of the sheet that stand on every copy. */
export const CAUTIONS: readonly string[] = [
  'Mute or turn down the amplifier before touching stylus, cartridge or plugs.',
  'Brush from the root of the cantilever to the tip only, never sideways; let the arm float. Do not blow with the mouth.',
  'Liquids sparingly and only as the cartridge’s maker allows: some loosen glue or attack the suspension; sources disagree.',
  'The tip is sharp and can be swallowed. The microscope’s barrel must not touch the cantilever; put the guard back afterwards.',
  'Mains: old decks may have two-core leads and no protective earth, a wrong voltage or frequency setting, damaged flex. Do not plug one in before it has been checked, unplug it before opening it, follow local electrical codes and leave mains work to a qualified person.',
  'The maker’s instructions come before anything on this sheet. A condition sheet records what was seen; it is no guarantee and no listening test.',
];

export const WORTH: readonly string[] = [
  'The accuracy of these measurements is proved on rendered pictures whose truth is known. On real styli only their repeatability is known so far.',
  'After ± stands the expanded uncertainty, about 95 % coverage (GUM). “Not detected, below …” means that a flat of that width would be missed at most once in twenty; it does not mean that there is none.',
  'A limit holds for a part that is turned or pitched by no more than 2 degrees between the pictures.',
  'No published limit in micrometres was found for the flat that ends a stylus’s life. Hours at which people think about replacing a diamond, 400 to 1\u202f000\u00a0h, are common practice, no standard.',
];

export const NOT_EXAMINED: readonly string[] = [
  'the suspension and its age',
  'the coils, the wiring and the electrical output',
  'how it sounds: nothing on this sheet is a listening test',
  'alignment, tracking force and anti-skating',
  'the polish inside the contact area and anything smaller than the picture resolves',
];

export const DECK_CHECKS: readonly string[] = [
  'Mains lead, plug, voltage and frequency setting looked at before it was plugged in',
  'Platter turns freely, no rumble felt by hand',
  'Speed right at 33⅓ and 45',
  'Arm moves freely in both directions, no play at the bearings',
  'Tracking force can be set and was measured',
  'Lift and automatic functions work',
  'Belt, idler or drive surface sound',
  'Cartridge plugs and wires whole (amplifier muted)',
  'Both channels play, no hum',
];
