import { useState, type ClipboardEvent, type DragEvent } from 'react';
import { grouped } from '../format.ts';

/** What a field says that takes so many characters and no more; null while there is room. */
export const fullSentence = (length: number, most: number): string | null =>
  length < most ? null : `${grouped(most)} characters: no more fit in.`;

/** Why a text is not put in; null when it fits. */
export function tooLongSentence(before: number, replaced: number, text: string, most: number): string | null {
  const after = before - replaced + text.length;
  return after <= most
    ? null
    : `Not put in: together that would be ${grouped(after)} characters, and ${grouped(most)} are the most. Shorten it first.`;
}

/** A field's limit, said where it is: what does not fit is refused whole, never cut. */
export function useLimit(value: string, most: number | undefined) {
  const [refused, setRefused] = useState<string | null>(null);
  if (most === undefined) return { said: null, limits: {} };
  const put = (event: ClipboardEvent<HTMLInputElement> | DragEvent<HTMLInputElement>, text: string): void => {
    const { selectionStart, selectionEnd } = event.currentTarget;
    const replaced = event.type === 'paste' ? (selectionEnd ?? 0) - (selectionStart ?? 0) : 0;
    const sentence = tooLongSentence(value.length, replaced, text, most);
    setRefused(sentence);
    if (sentence !== null) event.preventDefault();
  };
  return {
    said: refused ?? fullSentence(value.length, most),
    limits: {
      maxLength: most,
      onPaste: (event: ClipboardEvent<HTMLInputElement>) => put(event, event.clipboardData.getData('text')),
      onDrop: (event: DragEvent<HTMLInputElement>) => put(event, event.dataTransfer.getData('text')),
      onInput: () => setRefused(null),
    },
  };
}
