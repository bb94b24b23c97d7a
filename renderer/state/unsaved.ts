/**
 * What stands in open dialogs and is saved nowhere yet. Going to another address must not throw it away: leaving a form is
 * its own buttons' business (and Escape's).
 */
const holding = new Set<string>();

export function holdUnsaved(id: string): () => void {
  holding.add(id);
  return () => holding.delete(id);
}

export const isUnsaved = (): boolean => holding.size > 0;
