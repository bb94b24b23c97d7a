/** What a scale belongs to. null = the camera does not tell, or nobody wrote it down. */
export type MicroscopeSetting = {
  readonly camera: string | null;
  readonly frameWidthPx: number | null;
  readonly frameHeightPx: number | null;
  readonly resizeMode?: string | null;
  readonly zoom: number | null;
  readonly focus: number | null;
};

export type CarryVerdict = {
  /** 'holds': everything known and the same; 'differs': something is not; 'unknown': nothing differs, but not all is known. */
  readonly verdict: 'holds' | 'differs' | 'unknown';
  readonly differs: readonly SettingPart[];
  readonly unknown: readonly SettingPart[];
  /** A sentence for the person. */
  readonly message: string;
};

export type SettingPart = 'camera' | 'frame size' | 'resize mode' | 'zoom' | 'focus';

/**
 * Does a scale taken with one setting still hold for another? Only within the same camera, frame size, zoom and focus:
 * um/px changes with each of them. Numbers are compared exactly: drivers report steps.
 */
export function scaleStillHolds(made: MicroscopeSetting, now: MicroscopeSetting): CarryVerdict {
  const parts: [SettingPart, unknown, unknown][] = [
    ['camera', made.camera, now.camera],
    ['frame size', frame(made), frame(now)],
    ['zoom', made.zoom, now.zoom],
    ['focus', made.focus, now.focus],
  ];
  if (made.resizeMode !== undefined || now.resizeMode !== undefined)
    parts.push(['resize mode', made.resizeMode ?? null, now.resizeMode ?? null]);
  const differs = parts.filter(([, a, b]) => a !== null && b !== null && a !== b).map(([name]) => name);
  const unknown = parts.filter(([, a, b]) => a === null || b === null).map(([name]) => name);
  if (differs.length > 0)
    return {
      verdict: 'differs',
      differs,
      unknown,
      message: `The scale no longer holds: ${list(differs)} changed since it was taken. Take a new picture of the slide.`,
    };
  if (unknown.length > 0)
    return {
      verdict: 'unknown',
      differs,
      unknown,
      message: `Nothing is known to have changed, but ${list(unknown)} cannot be compared. Carry the scale over only if you did not touch the microscope.`,
    };
  return {
    verdict: 'holds',
    differs,
    unknown,
    message: 'Same camera, frame size, zoom and focus: the scale holds.',
  };
}

const frame = (s: MicroscopeSetting): string | null =>
  s.frameWidthPx === null || s.frameHeightPx === null ? null : `${s.frameWidthPx} x ${s.frameHeightPx}`;

const list = (names: readonly string[]): string =>
  names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names[names.length - 1]}`;

/** What a scale card says of its setting, and what is known of a picture that wants its scale. */
export type CardSetting = Omit<MicroscopeSetting, 'camera'> & { readonly microscope: string };
export type PictureSetting = Omit<MicroscopeSetting, 'camera'> & {
  /** Every name the microscope goes by: the person's own, and for a live picture the camera's. */
  readonly names: readonly string[];
};

const nameKey = (name: string): string => name.trim().toLowerCase();

/** Does the card's scale hold for the picture? Names are compared without regard to case and outer spaces. */
export function cardVerdict(card: CardSetting, picture: PictureSetting): CarryVerdict {
  const { microscope, ...made } = card;
  const { names, ...now } = picture;
  const own = nameKey(microscope);
  const known = names.map(nameKey).filter((name) => name !== '');
  const camera = known.includes(own) ? own : (known[0] ?? null);
  return scaleStillHolds({ ...made, camera: own }, { ...now, camera });
}
