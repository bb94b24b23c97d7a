import type { HostClient, SteppedHistory } from '../../shared/index.ts';
import { asRefusal } from '../host.ts';
import { ENTRY_WORDS } from '../words.ts';
import type { Actions, DaybookStore, Toast } from './model.ts';
import { stylusOf } from './route.ts';
import { saveWaiting } from './waiting.ts';

export type Messages = Pick<Actions, 'say' | 'dismiss'> & {
  /** As `say`, with the step of the history that the message's undo takes back. */
  readonly offer: (text: string, undo: () => Promise<void>, step: number | null) => void;
  readonly forget: (gone: (toast: Toast) => boolean) => void;
};

/** What a step did, with the styluses by name where one of them is not the one on show. */
export function steppedText(way: 'undo' | 'redo', step: SteppedHistory, shownId: string | null): string {
  const done = way === 'undo' ? 'Taken back' : 'Done again';
  const names = step.styluses.map(({ name }) => `“${name}”`);
  const elsewhere = step.styluses.some(({ id }) => id !== shownId);
  const whose =
    names.length > 3 ? `${names.length} styluses` : names.join(', ').replace(/, ([^,]*)$/, ' and $1');
  const kind = step.entryKind === null ? '' : ` (${ENTRY_WORDS[step.entryKind].toLowerCase()})`;
  return `${done}${elsewhere ? ` for ${whose}` : ''}: ${step.title}${kind}.`;
}

/** Undo and redo as the window offers them; the steps themselves live in the collection and survive the program. */
export function createHistory(
  store: DaybookStore,
  host: HostClient,
  { say, offer, forget }: Messages,
  load: () => Promise<void>,
  toShelf: () => void,
): Pick<Actions, 'done' | 'undo' | 'redo'> {
  /** What was shown may have gone with the step: a stylus that is in the bin again has no page. */
  const lookAgain = async (): Promise<void> => {
    await load();
    const { page } = store.getState();
    if (page !== null && page.stylus.binnedAt !== null) toShelf();
  };
  let last: Promise<void> = Promise.resolve();
  /** One after the other, in the order of the keys: each starts from what the one before left. */
  const step = (way: 'history.undo' | 'history.redo', number: number | null): Promise<void> =>
    (last = last.then(() => make(way, number)));
  const make = async (way: 'history.undo' | 'history.redo', number: number | null): Promise<void> => {
    try {
      // A push that waits to be saved is the last thing that was done.
      await saveWaiting();
      const made = await host.call(way, { number });
      const shownId = stylusOf(store.getState().route);
      forget((toast) => toast.step === made.number);
      await lookAgain();
      say(steppedText(way === 'history.undo' ? 'undo' : 'redo', made, shownId));
    } catch (error) {
      const refusal = asRefusal(error);
      say(refusal.message, refusal.code === 'nothing-there' ? 'plain' : 'problem');
    }
  };
  return {
    done: async (text) => {
      const state = await host.call('history.state', {}).catch(() => null);
      const number = state?.undo?.number ?? null;
      if (number === null) return say(text);
      return offer(text, () => step('history.undo', number), number);
    },
    undo: async (which) => {
      if (which === undefined) return step('history.undo', null);
      const known = store.getState().toasts.find((toast) => toast.undo === which);
      forget((toast) => toast.undo === which);
      try {
        await which();
        // A step of the history has said so itself.
        if (known?.step === null) say('Taken back.');
      } catch (error) {
        say(asRefusal(error).message, 'problem');
      }
      return undefined;
    },
    redo: () => step('history.redo', null),
  };
}
