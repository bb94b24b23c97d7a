import { createStore } from 'zustand/vanilla';
import type { HostClient } from '../../shared/index.ts';
import { createHistory, type Messages } from './history.ts';
import { createLoading } from './loading.ts';
import type { Actions, Daybook, DaybookModel, DaybookStore, Surroundings, Toast } from './model.ts';
import { asRefusal } from '../host.ts';
import { parseRoute, writeRoute } from './route.ts';
import { readSettings, writeSettings } from './settings.ts';
import { onSaved, whyUnsaved } from './unsaved.ts';

/** Refusals that mean "the person stopped it": nothing to report. */
const STOPPED = new Set(['cancelled', 'Cancelled']);

/** Messages go by themselves; so many at once nobody reads. */
const MOST_KEPT = 30;

let counter = 0;

export function createDaybook(host: HostClient, around: Surroundings): DaybookModel {
  const store = createStore<Daybook>()(() => ({
    route: parseRoute(around.hash),
    info: null,
    cards: null,
    page: null,
    problem: null,
    dialog: null,
    toasts: [],
    history: { undo: null, redo: null },
    jobs: {},
    settings: readSettings(around.storage),
  }));
  const { load, enter, listen } = createLoading(store, host);
  const messages = createMessages(store);
  const jobs = createJobs(store, host, messages.say);
  const go: Actions['go'] = (route) => {
    around.writeHash(writeRoute(route));
    void enter(route);
  };
  /** True, and says why, while something would be lost by leaving. */
  const stays = (): boolean => {
    const why = whyUnsaved();
    if (why !== null) messages.say(why);
    return why !== null;
  };
  const history = createHistory(store, host, messages, load, () => go({ screen: 'shelf' }));
  return {
    store,
    host,
    say: messages.say,
    dismiss: messages.dismiss,
    ...history,
    ...jobs,
    go,
    leave: (route) => {
      if (stays()) return;
      store.setState({ dialog: null });
      go(route);
    },
    refresh: load,
    start: async () => {
      listen();
      // It would ask for something that has happened, and cover what was under the form.
      onSaved((sentence) => messages.forget((toast) => toast.text === sentence));
      await load();
    },
    follow: async (hash) => {
      const route = parseRoute(hash);
      const here = writeRoute(store.getState().route);
      if (writeRoute(route) === here) return;
      if (stays()) return around.writeHash(here);
      store.setState({ dialog: null });
      return enter(route);
    },
    open: (dialog) => store.setState({ dialog }),
    set: (change) => {
      store.setState((state) => ({ settings: { ...state.settings, ...change } }));
      writeSettings(around.storage, store.getState().settings);
    },
    bin: async (kind, id, what) => {
      const done = await jobs.attempt(() => host.call('bin.put', { kind, id }));
      if (done === null) return;
      await history.done(`${what} went into the bin.`);
      if (kind === 'stylus') go({ screen: 'shelf' });
      else await load();
    },
    compare: async (baselineId, laterId) => {
      const made = await jobs.run('Comparing the two pictures', (jobId) =>
        host.call('comparison.run', { baselineId, laterId, jobId }),
      );
      if (made !== null) await load();
      return made;
    },
  };
}

function createMessages(store: DaybookStore): Messages {
  const show = (toast: Omit<Toast, 'id' | 'times'>): void =>
    store.setState(({ toasts }) => {
      // The same said twice is one message; one that takes something back stands for its own step.
      const same = toasts.find(
        ({ text, undo }) => text === toast.text && undo === null && toast.undo === null,
      );
      const others = toasts.filter(
        (other) => other !== same && (toast.step === null || other.step !== toast.step),
      );
      const said = { ...toast, id: ++counter, times: (same?.times ?? 0) + 1 };
      return { toasts: [...others, said].slice(-MOST_KEPT) };
    });
  const forget: Messages['forget'] = (gone) =>
    store.setState((state) => ({ toasts: state.toasts.filter((toast) => !gone(toast)) }));
  return {
    say: (text, tone = 'plain', undo = null) => show({ text, tone, undo, step: null }),
    offer: (text, undo, step) => show({ text, tone: 'plain', undo, step }),
    dismiss: (id) => forget((toast) => toast.id === id),
    forget,
  };
}

function createJobs(
  store: DaybookStore,
  host: HostClient,
  say: Actions['say'],
): Pick<Actions, 'attempt' | 'run' | 'cancel'> {
  const attempt: Actions['attempt'] = async (work) => {
    try {
      return await work();
    } catch (error) {
      const refusal = asRefusal(error);
      if (!STOPPED.has(refusal.code)) say(refusal.message, 'problem');
      return null;
    }
  };
  return {
    attempt,
    run: async (title, work) => {
      const id = `w${Date.now().toString(36)}${(++counter).toString(36)}`;
      const job = { id, title, stage: 'starting', fraction: 0, cancelling: false };
      store.setState((state) => ({ jobs: { ...state.jobs, [id]: job } }));
      try {
        return await attempt(() => work(id));
      } finally {
        store.setState((state) => {
          const { [id]: _ended, ...jobs } = state.jobs;
          return { jobs };
        });
      }
    },
    cancel: async (jobId) => {
      const job = store.getState().jobs[jobId];
      if (job === undefined) return;
      store.setState((state) => ({ jobs: { ...state.jobs, [jobId]: { ...job, cancelling: true } } }));
      await attempt(() => host.call('job.cancel', { jobId }));
    },
  };
}
