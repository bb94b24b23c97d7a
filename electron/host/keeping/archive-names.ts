import { PART_FOLDERS, isKnownPart, refused } from './bag.ts';

/**
 * Names in an archive come from whoever made it. A name is let in only when it is one of those that our own archives
 * have; the sentences before that say what is wrong with it, for whoever sent the file.
 */
const RESERVED_NAME = /^(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(\.|$)/i;
const TOP_FOLDER = /^[\p{L}\p{N}][\p{L}\p{N} ._()+-]{0,119}$/u;

function decoded(raw: Uint8Array): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(raw);
  } catch {
    throw refused('a name in it is no text');
  }
}

function wrongWith(name: string): string | null {
  if (name === '') return 'a file in it has no name';
  if (name.includes('\0')) return 'a name in it holds a NUL character';
  if (/\p{Cc}|\p{Cf}/u.test(name)) return 'a name in it holds control characters';
  if (name.includes('\\')) return 'a name in it holds a backslash';
  if (name.startsWith('/')) return 'a name in it is an absolute path';
  if (/^[a-z]:/i.test(name)) return 'a name in it begins with a drive letter';
  if (name.includes(':')) return 'a name in it holds a colon';
  const steps = name.replace(/\/$/, '').split('/');
  if (steps.some((step) => step === '..' || step === '.')) return 'a name in it leads out of its folder';
  if (steps.includes('')) return 'a name in it holds an empty step';
  if (steps.some((step) => RESERVED_NAME.test(step)))
    return 'a name in it is one that an operating system keeps for itself';
  if (steps.some((step) => /[. ]$/.test(step))) return 'a name in it ends with a dot or a space';
  return null;
}

export type Placed = { readonly top: string; readonly part: string };

/** Splits a raw name into the folder at the top and the known part below it; throws a refusal for every other name. */
export function placeOf(raw: Uint8Array): Placed {
  const name = decoded(raw);
  const wrong = wrongWith(name);
  if (wrong !== null) throw refused(wrong);
  const slash = name.indexOf('/');
  if (slash < 0) throw refused(`it holds a file outside its folder ("${shown(name)}")`);
  const top = name.slice(0, slash);
  const part = name.slice(slash + 1);
  if (!TOP_FOLDER.test(top)) throw refused('its folder has an unusual name');
  if (!isKnownPart(part) && !PART_FOLDERS.includes(part))
    throw refused(`it holds something that is no part of a daybook ("${shown(part)}")`);
  return { top, part };
}

const shown = (name: string): string => (name.length > 60 ? `${name.slice(0, 60)}…` : name);
