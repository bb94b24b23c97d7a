import { useStore } from 'zustand';
import { createStore } from 'zustand/vanilla';

/**
 * Where messages stand while a dialog is open. What lies outside a modal dialog is hidden from assistive technology and
 * out of the keyboard's reach, so each dialog has a place for them within.
 */
const store = createStore<{ readonly slots: readonly HTMLElement[] }>()(() => ({ slots: [] }));

/** For the `ref` of that place. */
export function holdMessages(slot: HTMLElement | null): (() => void) | undefined {
  if (slot === null) return undefined;
  store.setState(({ slots }) => ({ slots: [...slots, slot] }));
  return () => store.setState(({ slots }) => ({ slots: slots.filter((one) => one !== slot) }));
}

/** That of the dialog that was opened last; null where none is open. */
export const useMessagesSlot = (): HTMLElement | null => useStore(store, ({ slots }) => slots.at(-1) ?? null);
