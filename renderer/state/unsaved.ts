/**
 * What stands in open dialogs and is saved nowhere yet. Going to another address must not throw it away, nor may Escape or
 * a click beside it: leaving a form is its own buttons' business.
 */
const holding = new Set<string>();

export function holdUnsaved(id: string): () => void {
  holding.add(id);
  return () => holding.delete(id);
}

export const isUnsaved = (): boolean => holding.size > 0;

/** Said wherever a form stays open for that reason. */
export const NOT_SAVED = 'A form is open and not saved. Save or cancel it first.';
