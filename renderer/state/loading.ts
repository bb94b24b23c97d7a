import { joined, type HostClient, type StylusChange, type StylusPage } from '../../shared/index.ts';
import { asRefusal } from '../host.ts';
import type { DaybookStore } from './model.ts';
import { stylusOf, type Route } from './route.ts';

type Loading = {
  /** Renews what the present screen shows. */
  readonly load: () => Promise<void>;
  readonly enter: (route: Route) => Promise<void>;
  /** Follows the host's events. */
  readonly listen: () => void;
};

/** The page's reports come without their lines; what the screen draws is read whole and put in its place. */
async function withLines(host: HostClient, page: StylusPage, route: Route): Promise<StylusPage> {
  if (route.screen === 'look') {
    const known = page.captures.find((one) => one.id === route.captureId);
    // A picture of a repeatability study is none of the page's, and can be looked at all the same.
    if (known === undefined) {
      const other = await host.call('capture.read', { id: route.captureId });
      const own = other.stylusId === page.stylus.id && other.binnedAt === null;
      return own ? { ...page, captures: [...page.captures, other] } : page;
    }
    if (!known.examination) return page;
    const whole = await host.call('capture.read', { id: known.id });
    return { ...page, captures: page.captures.map((one) => (one.id === whole.id ? whole : one)) };
  }
  if (route.screen !== 'bench') return page;
  const { baselineId, laterId } = route;
  const known = page.comparisons.find((one) => one.baselineId === baselineId && one.laterId === laterId);
  if (known === undefined) return page;
  const whole = await host.call('comparison.read', { id: known.id });
  return { ...page, comparisons: page.comparisons.map((one) => (one.id === whole.id ? whole : one)) };
}

/** Answers may come in another order than they were asked for: an older one never takes the place of a newer one. */
function inOrder(): () => () => boolean {
  let asked = 0;
  let taken = 0;
  return () => {
    const own = ++asked;
    return () => {
      const good = own > taken;
      if (good) taken = own;
      return good;
    };
  };
}

/** What is held already, with what became different put in; lists that stayed are the same ones. */
const renewed = (page: StylusPage, change: StylusChange): StylusPage => ({
  ...change,
  captures: joined(page.captures, change.captures),
  comparisons: joined(page.comparisons, change.comparisons),
  entries: joined(page.entries, change.entries),
});

/** The page with all its rows, put together from pieces that are read one by one. */
async function wholePage(host: HostClient, id: string): Promise<StylusPage> {
  const { pieces, ...page } = await host.call('stylus.open', { id });
  const { state } = page;
  const rest = await Promise.all(
    Array.from({ length: pieces }, (_, number) => host.call('stylus.piece', { id, state, number })),
  );
  const found = rest.filter((piece) => piece !== null);
  // Forgotten meanwhile: somebody leafs through styluses faster than they come.
  if (found.length < pieces) return host.call('stylus.page', { id });
  return {
    ...page,
    captures: [...page.captures, ...found.flatMap(({ captures }) => captures)],
    comparisons: [...page.comparisons, ...found.flatMap(({ comparisons }) => comparisons)],
    entries: [...page.entries, ...found.flatMap(({ entries }) => entries)],
  };
}

/** Reads a page, and from then on only what became different of it, for as long as it is the last one. */
function pageReader(host: HostClient): (id: string) => Promise<StylusPage> {
  let held: StylusPage | null = null;
  return async (id) => {
    const base = held;
    const change =
      base?.state !== undefined && base.stylus.id === id
        ? await host.call('stylus.renew', { id, state: base.state })
        : null;
    held = base === null || change === null ? await wholePage(host, id) : renewed(base, change);
    return held;
  };
}

export function createLoading(store: DaybookStore, host: HostClient): Loading {
  const shelfAsked = inOrder();
  const pageAsked = inOrder();
  const readPage = pageReader(host);
  const loadShelf = async (): Promise<void> => {
    const isNewest = shelfAsked();
    const info = await host.call('app.info', {});
    store.setState({ info });
    // Without an open collection there is nothing else to ask for; the window shows the ways to get it back.
    if (info.trouble !== null && !info.isCopy) return;
    const [cards, history] = await Promise.all([
      host.call('stylus.list', {}),
      host.call('history.state', {}),
    ]);
    if (isNewest()) store.setState({ cards, history });
  };
  const loadPage = async (id: string): Promise<void> => {
    const isNewest = pageAsked();
    const page = await withLines(host, await readPage(id), store.getState().route);
    // A slow answer for a stylus that is no longer shown must not replace the one that is.
    if (stylusOf(store.getState().route) === id && isNewest()) store.setState({ page });
  };
  const load = async (): Promise<void> => {
    const { route } = store.getState();
    const id = stylusOf(route);
    try {
      await Promise.all([loadShelf(), id === null ? null : loadPage(id)]);
      if (store.getState().route === route) store.setState({ problem: null });
    } catch (error) {
      if (store.getState().route === route) store.setState({ problem: asRefusal(error).message });
    }
  };
  const enter = async (route: Route): Promise<void> => {
    const id = stylusOf(route);
    const keep = id !== null && store.getState().page?.stylus.id === id;
    store.setState({ route, problem: null, ...(keep ? {} : { page: null }) });
    await load();
  };
  const listen = (): void => {
    host.on('progress', ({ jobId, stage, fraction }) =>
      store.setState((state) => {
        const job = state.jobs[jobId];
        return job === undefined ? state : { jobs: { ...state.jobs, [jobId]: { ...job, stage, fraction } } };
      }),
    );
    let again: ReturnType<typeof setTimeout> | undefined;
    host.on('changed', () => {
      // Many changes in a row (an import of thirty pictures) need one reload, not thirty.
      clearTimeout(again);
      again = setTimeout(() => void load(), 60);
    });
  };
  return { load, enter, listen };
}
