import { useEffect, useId } from 'react';
import { holdUnsaved, NOT_SAVED } from './unsaved.ts';

/** While `unsaved`, neither the address nor a command takes the person away from here; `sentence` is what they read. */
export function useUnsaved(unsaved: boolean, sentence = NOT_SAVED): void {
  const id = useId();
  useEffect(() => (unsaved ? holdUnsaved(id, sentence) : undefined), [unsaved, id, sentence]);
}
