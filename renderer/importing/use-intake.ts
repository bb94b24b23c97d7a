import { useEffect, useRef, useState } from 'react';
import type { HostClient, ScaleCard, StylusPage } from '../../shared/index.ts';
import { asRefusal } from '../host.ts';
import { useScaleCards } from '../scales/cards.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { dateText } from './dates.ts';
import { proposeBaselines, readRow, startAnswers, tooLarge, type Answers, type IntakeRow } from './intake.ts';

export type Intake = {
  readonly rows: readonly IntakeRow[];
  readonly pages: readonly StylusPage[];
  readonly cards: readonly ScaleCard[];
  /** How many of how many files were read or added, while that goes on. */
  readonly progress: { readonly done: number; readonly all: number; readonly what: string } | null;
  readonly take: (files: readonly File[]) => void;
  readonly answer: (key: number, change: Partial<Answers>) => void;
  readonly replace: (rows: readonly IntakeRow[]) => void;
  readonly leaveOut: (key: number) => void;
  /** Adds what is ready and answered; resolves to the ids that came in. */
  readonly add: () => Promise<readonly string[]>;
  readonly stop: () => void;
};

let keys = 0;
const NO_CARDS: readonly ScaleCard[] = [];

async function allPages(host: HostClient): Promise<StylusPage[]> {
  const cards = await host.call('stylus.list', {});
  return Promise.all(cards.map((card) => host.call('stylus.page', { id: card.stylus.id })));
}

/** Reads files one after another, keeps the answers, and takes back whatever was offered and not added. */
export function useIntake(stylusId: string | null): Intake {
  const { host } = useModel();
  const cards = useDaybook((state) => state.cards);
  const scaleCards = useScaleCards() ?? NO_CARDS;
  const [rows, setRows] = useState<readonly IntakeRow[]>([]);
  const [pages, setPages] = useState<readonly StylusPage[]>([]);
  const [progress, setProgress] = useState<Intake['progress']>(null);
  const [pagesRead] = useState(() => allPages(host));
  const live = useRef({ rows, pages, stopped: false, closed: false });
  const change = (make: (old: readonly IntakeRow[]) => readonly IntakeRow[]): void => {
    live.current.rows = make(live.current.rows);
    setRows(live.current.rows);
  };
  const patch = (key: number, part: Partial<IntakeRow>): void =>
    change((old) => old.map((row) => (row.key === key ? { ...row, ...part } : row)));

  useEffect(() => {
    const state = live.current;
    state.closed = false;
    pagesRead.then(
      (read) => {
        state.pages = read;
        setPages(read);
        return undefined;
      },
      () => undefined,
    );
    return () => {
      // Closing without "Add": nothing stays behind on the machine's side.
      state.closed = true;
      for (const row of state.rows) {
        URL.revokeObjectURL(row.url);
        if (row.offer !== null)
          void host.call('picture.withdraw', { token: row.offer.token }).catch(() => undefined);
      }
    };
  }, [host, pagesRead]);

  const first = cards?.length === 1 ? cards[0].stylus.id : '';
  const take = async (files: readonly File[]): Promise<void> => {
    live.current.stopped = false;
    const known = await pagesRead.catch(() => []);
    const fresh = files.map((file): IntakeRow => {
      const answers = startAnswers(stylusId ?? first, known);
      return {
        key: ++keys,
        file,
        url: URL.createObjectURL(file),
        status: 'waiting',
        offer: null,
        problem: null,
        answers,
      };
    });
    change((old) => [...old, ...fresh]);
    let done = 0;
    for (const row of fresh) {
      setProgress({ done, all: fresh.length, what: 'Reading' });
      if (live.current.stopped) change((old) => old.filter((one) => one.key !== row.key));
      else await readFile(row);
      done += 1;
    }
    setProgress(null);
    change((old) => proposeBaselines(old, known));
  };

  const readFile = async (row: IntakeRow): Promise<void> => {
    const large = tooLarge(row.file);
    if (large !== null) return patch(row.key, { status: 'refused', problem: large });
    patch(row.key, { status: 'reading' });
    try {
      const bytes = new Uint8Array(await row.file.arrayBuffer());
      const offer = await host.call('picture.offer', { fileName: row.file.name, bytes });
      // Stopped, removed or closed while the host was reading: give it back.
      if (live.current.closed || !live.current.rows.some((one) => one.key === row.key)) {
        await host.call('picture.withdraw', { token: offer.token });
        return undefined;
      }
      const { answers } = row;
      return patch(row.key, { status: 'ready', offer, answers: { ...answers, date: dateText(offer.taken) } });
    } catch (error) {
      return patch(row.key, { status: 'refused', problem: asRefusal(error).message });
    }
  };

  const add = async (): Promise<readonly string[]> => {
    live.current.stopped = false;
    const ready = live.current.rows.filter((row) => row.status === 'ready');
    const added: string[] = [];
    // All that is added at once is one step of undo.
    const gesture = `import-${Date.now().toString(36)}`;
    for (const [index, row] of ready.entries()) {
      if (live.current.stopped) break;
      setProgress({ done: index, all: ready.length, what: 'Adding' });
      const { input } = readRow(row, live.current.pages, scaleCards);
      if (input === null) continue;
      patch(row.key, { status: 'adding', problem: null });
      try {
        added.push((await host.call('capture.add', { ...input, gesture })).id);
        change((old) => old.filter((one) => one.key !== row.key));
      } catch (error) {
        patch(row.key, { status: 'ready', problem: asRefusal(error).message });
      }
    }
    setProgress(null);
    return added;
  };

  return {
    rows,
    pages,
    cards: scaleCards,
    progress,
    take: (files) => void take(files),
    answer: (key, part) =>
      change((old) =>
        old.map((row) => (row.key === key ? { ...row, answers: { ...row.answers, ...part } } : row)),
      ),
    replace: (next) => change(() => next),
    leaveOut: (key) => {
      const row = live.current.rows.find((one) => one.key === key);
      if (row?.offer) void host.call('picture.withdraw', { token: row.offer.token }).catch(() => undefined);
      change((old) => old.filter((one) => one.key !== key));
    },
    add,
    stop: () => {
      live.current.stopped = true;
    },
  };
}
