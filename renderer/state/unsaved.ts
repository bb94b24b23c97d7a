/**
 * What stands in open dialogs and is saved nowhere yet. Going to another address must not throw it away, nor may Escape or
 * a click beside it: leaving a form is its own buttons' business.
 */
const holding = new Set<string>();
const waiting = new Set<() => void>();

/** Holds one form's words until what it returns is called: saved, or given up by its own button. */
export function holdUnsaved(id: string): () => void {
  holding.add(id);
  return () => {
    if (holding.delete(id) && holding.size === 0) for (const tell of waiting) tell();
  };
}

/** Calls back each time that the last open form was saved or given up; what it returns ends that. */
export function onNothingUnsaved(tell: () => void): () => void {
  waiting.add(tell);
  return () => waiting.delete(tell);
}

export const isUnsaved = (): boolean => holding.size > 0;

/** Said wherever a form stays open for that reason. */
export const NOT_SAVED = 'A form is open and not saved. Save or cancel it first.';
