/**
 * What stands in open forms and is saved nowhere yet, each with the sentence that is said when somebody would lose it.
 * Going to another address must not throw it away, nor may Escape or a click beside it: leaving a form is its own
 * buttons' business.
 */
const holding = new Map<string, string>();
const waiting = new Set<(sentence: string) => void>();

/** Said wherever a form stays open for that reason. */
export const NOT_SAVED = 'A form is open and not saved. Save or cancel it first.';

/** Holds one form's words until what it returns is called: saved, or given up by its own button. */
export function holdUnsaved(id: string, sentence = NOT_SAVED): () => void {
  holding.set(id, sentence);
  return () => {
    if (!holding.delete(id) || [...holding.values()].includes(sentence)) return;
    for (const tell of waiting) tell(sentence);
  };
}

/** Why nothing may be left now; null when nothing would be lost. */
export const whyUnsaved = (): string | null => [...holding.values()].at(-1) ?? null;

/** Calls back when a sentence has become untrue; what it returns ends that. */
export function onSaved(tell: (sentence: string) => void): () => void {
  waiting.add(tell);
  return () => waiting.delete(tell);
}
