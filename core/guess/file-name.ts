import type { View } from '../../shared/index.ts';

/** What a person may have written into a file's name. Words of the trade only; null where no word says it. */
export type NameGuess = {
  readonly view: View | null;
  readonly light: 'backlit' | 'ring' | 'side-light' | null;
  readonly slide: boolean;
};

/** The first that fits; `below` and `above` before `side`, because "cantilever side, from below" shows it from below. */
const VIEWS: readonly (readonly [RegExp, View])[] = [
  [/\b(end on|tip on|head on|facets?)\b/, 'end-on'],
  [/\b(below|under|underneath|bottom)\b/, 'below'],
  [/\b(above|from top|top view)\b/, 'above'],
  [/\b(front|along groove|along the groove)\b/, 'front'],
  [/\b(side view|side|profile)\b/, 'side'],
  [/\b(cantilever)\b/, 'side'],
];
const LIGHTS: readonly (readonly [RegExp, NameGuess['light'] & string])[] = [
  [/\b(back ?lit|back ?light|silhouette|transmitted)\b/, 'backlit'],
  [/\b(side ?light|side ?lit|oblique)\b/, 'side-light'],
  [/\b(ring|ring ?light|ring ?lit|reflected)\b/, 'ring'],
];
const SLIDE = /\b(ruled slide|stage micrometer|micrometer|calibration|ruler|scale)\b/;

export function guessFromName(fileName: string): NameGuess {
  // "IMG_Front-Left2" -> "img front left 2": words are parted by anything that is no letter.
  const words = fileName
    .replace(/\.[a-z0-9]{1,5}$/i, '')
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .toLowerCase()
    .replace(/[^a-z]+/g, ' ');
  // "side light" and "side-lit" speak of the light, not of the view.
  const ofView = words.replace(/\bside ?(light|lit)\b/g, ' ');
  return {
    view: VIEWS.find(([pattern]) => pattern.test(ofView))?.[1] ?? null,
    light: LIGHTS.find(([pattern]) => pattern.test(words))?.[1] ?? null,
    slide: SLIDE.test(words),
  };
}

/**
 * The one of several names that occurs in a file's path; null when none or more than one does. Names shorter than three
 * letters say nothing. Longer names are tried first, so that "Deck 12" is not taken for "Deck 1".
 */
export function guessNamed<T extends { readonly id: string; readonly name: string }>(
  path: string,
  candidates: readonly T[],
): T | null {
  const key = (text: string): string =>
    ` ${text
      .toLowerCase()
      .replace(/[^\p{L}\p{N}]+/gu, ' ')
      .trim()} `;
  let rest = key(path);
  const found: T[] = [];
  for (const one of candidates.toSorted((a, b) => b.name.length - a.name.length)) {
    const name = key(one.name);
    if (name.trim().length < 3 || !rest.includes(name)) continue;
    found.push(one);
    rest = rest.replaceAll(name, '  ');
  }
  return found.length === 1 ? found[0] : null;
}
