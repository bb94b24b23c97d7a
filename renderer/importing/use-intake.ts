import { useEffect, useMemo, useRef, useState } from 'react';
import type { HostClient, KnownPictures, ScaleCard } from '../../shared/index.ts';
import { asRefusal } from '../host.ts';
import { useScaleCards } from '../scales/cards.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { pathOf, sortFiles } from './folders.ts';
import {
  answered,
  markTwins,
  proposeBaselines,
  readRow,
  startAnswers,
  tooLarge,
  withOffer,
  type Adding,
  type Answers,
  type IntakeRow,
} from './intake.ts';

export type Intake = {
  readonly rows: readonly IntakeRow[];
  readonly pages: readonly KnownPictures[];
  readonly cards: readonly ScaleCard[];
  /** How many of how many files were read, while that goes on. */
  readonly progress: { readonly done: number; readonly all: number } | null;
  /** Names of files of a folder that are no pictures. */
  readonly passedOver: readonly string[];
  readonly adding: boolean;
  readonly actions: IntakeActions;
} & IntakeActions;

/** The same from first to last, so that a row that did not change is not drawn again. */
export type IntakeActions = {
  readonly take: (files: readonly File[]) => void;
  readonly answer: (key: number, change: Partial<Answers>) => void;
  readonly choose: (key: number, chosen: boolean) => void;
  readonly replace: (make: (rows: readonly IntakeRow[]) => readonly IntakeRow[]) => void;
  readonly leaveOut: (key: number) => void;
  /** Adds everything that is to be taken and answered, all of it or nothing; resolves to the ids that came in. */
  readonly add: () => Promise<readonly string[]>;
  readonly stop: () => void;
};

let keys = 0;
/** Rows that are drawn in one go; 200 of them took 50 to 60 ms of the page's own thread. */
const LISTED_AT_ONCE = 20;
const NO_CARDS: readonly ScaleCard[] = [];

/** Until the browser had its turn; a hidden window draws nothing, so no frame is waited for. */
const drawn = (): Promise<void> =>
  new Promise((resolve) => {
    setTimeout(resolve);
  });

type Live = {
  rows: readonly IntakeRow[];
  pages: readonly KnownPictures[];
  cards: readonly ScaleCard[];
  first: string;
  stopped: boolean;
  closed: boolean;
  adding: boolean;
  /** Reading goes on one after the other, also when files are dropped while it does. */
  queue: Promise<void>;
};

/** Reads files one after another, keeps the answers, and takes back whatever was offered and not added. */
export function useIntake(stylusId: string | null): Intake {
  const model = useModel();
  const { host } = model;
  const shelf = useDaybook((state) => state.cards);
  const scaleCards = useScaleCards() ?? NO_CARDS;
  const [rows, setRows] = useState<readonly IntakeRow[]>([]);
  const [pages, setPages] = useState<readonly KnownPictures[]>([]);
  const [progress, setProgress] = useState<Intake['progress']>(null);
  const [passedOver, setPassedOver] = useState<readonly string[]>([]);
  const [adding, setAdding] = useState(false);
  const [pagesRead] = useState(() => host.call('capture.known', {}));
  const live = useRef<Live>({
    rows,
    pages,
    cards: scaleCards,
    first: '',
    stopped: false,
    closed: false,
    adding: false,
    queue: Promise.resolve(),
  });
  useEffect(() => {
    live.current.cards = scaleCards;
    live.current.first = shelf?.length === 1 ? shelf[0].stylus.id : '';
  }, [scaleCards, shelf]);
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
      // What is being added is the host's until that has ended; the rest is given back.
      if (!state.adding) for (const row of state.rows) forget(host, row);
    };
  }, [host, pagesRead]);
  const actions = useMemo<IntakeActions>(() => {
    const change = (make: (old: readonly IntakeRow[]) => readonly IntakeRow[]): void => {
      live.current.rows = make(live.current.rows);
      setRows(live.current.rows);
    };
    const patch = (key: number, make: (row: IntakeRow) => IntakeRow): void =>
      change((old) => old.map((row) => (row.key === key ? make(row) : row)));
    const readFile = async (row: IntakeRow): Promise<void> => {
      const refuse = (problem: string): void =>
        patch(row.key, (one) => ({ ...one, status: 'refused', problem }));
      const large = tooLarge(row.file);
      if (large !== null) return refuse(large);
      patch(row.key, (one) => ({ ...one, status: 'reading' }));
      try {
        const bytes = new Uint8Array(await row.file.arrayBuffer());
        const offer = await host.call('picture.offer', { fileName: row.file.name, bytes });
        // Stopped, removed or closed while the host was reading: give it back.
        if (live.current.closed || !live.current.rows.some((one) => one.key === row.key)) {
          await host.call('picture.withdraw', { token: offer.token });
          return undefined;
        }
        const url = offer.preview
          ? URL.createObjectURL(new Blob([offer.preview], { type: 'image/jpeg' }))
          : '';
        const styluses = live.current.pages.map(({ stylus }) => ({ id: stylus.id, name: stylus.name }));
        change((old) =>
          markTwins(
            old.map((one) => (one.key === row.key ? withOffer({ ...one, url }, offer, styluses) : one)),
          ),
        );
      } catch (error) {
        refuse(asRefusal(error).message);
      }
      return undefined;
    };
    const readAll = async (files: readonly File[]): Promise<void> => {
      live.current.stopped = false;
      const known = await pagesRead.catch(() => []);
      const { pictures, others } = await sortFiles(files);
      if (others.length > 0) setPassedOver((old) => [...old, ...others]);
      const fresh = pictures.map((file): IntakeRow => ({
        key: ++keys,
        file,
        path: pathOf(file),
        url: '',
        status: 'waiting',
        offer: null,
        problem: null,
        twinOf: null,
        chosen: false,
        answers: startAnswers(stylusId ?? live.current.first, known),
      }));
      // Hundreds of rows drawn in one go would hold the window up.
      for (let at = 0; at < fresh.length; at += LISTED_AT_ONCE) {
        change((old) => [...old, ...fresh.slice(at, at + LISTED_AT_ONCE)]);
        await drawn();
      }
      for (const [done, row] of fresh.entries()) {
        if (live.current.stopped || live.current.closed) break;
        setProgress({ done, all: fresh.length });
        if (live.current.rows.some((one) => one.key === row.key)) await readFile(row);
      }
      // Stopped: what was not read is not listed either.
      change((old) =>
        proposeBaselines(
          old.filter((row) => row.status !== 'waiting'),
          known,
        ),
      );
      setProgress(null);
    };
    const addAll = async (): Promise<readonly string[]> => {
      const { rows: old, pages: known, cards } = live.current;
      const ready = old.filter((row) => row.status === 'ready' && row.answers.take);
      const captures = ready
        .map((row) => readRow(row, known, cards).input)
        .filter((input): input is Adding => input !== null);
      if (captures.length === 0) return [];
      live.current.adding = true;
      setAdding(true);
      const made = await model.run(
        captures.length === 1 ? 'Adding the picture' : `Adding ${captures.length} pictures`,
        (jobId) => host.call('capture.addAll', { captures, jobId }),
      );
      live.current.adding = false;
      setAdding(false);
      if (made === null) return [];
      const gone = new Set(captures.map((one) => one.token));
      const came = (row: IntakeRow): boolean => row.offer !== null && gone.has(row.offer.token);
      for (const row of old.filter(came)) URL.revokeObjectURL(row.url);
      change((now) => now.filter((row) => !came(row)));
      return made.ids;
    };
    return {
      take: (files) => {
        live.current.queue = live.current.queue.then(() => readAll(files)).catch(() => setProgress(null));
      },
      answer: (key, part) => {
        patch(key, (row) => ({ ...row, answers: answered(row.answers, part) }));
        if (
          part.view !== undefined ||
          part.stylusId !== undefined ||
          part.date !== undefined ||
          part.take !== undefined
        )
          change((old) => proposeBaselines(old, live.current.pages));
      },
      choose: (key, chosen) => patch(key, (row) => ({ ...row, chosen })),
      replace: (make) => change((old) => proposeBaselines(make(old), live.current.pages)),
      leaveOut: (key) => {
        const row = live.current.rows.find((one) => one.key === key);
        if (row !== undefined) forget(host, row);
        change((old) => markTwins(old.filter((one) => one.key !== key)));
      },
      add: addAll,
      stop: () => {
        live.current.stopped = true;
      },
    };
    // The model and the list of pages are the same for the life of the dialog.
    // oxlint-disable-next-line react/exhaustive-deps
  }, [host, stylusId]);
  return { rows, pages, cards: scaleCards, progress, passedOver, adding, actions, ...actions };
}

/** Gives a row's picture back: its small copy here, the waiting file at the host. */
function forget(host: HostClient, row: IntakeRow): void {
  if (row.url !== '') URL.revokeObjectURL(row.url);
  if (row.offer !== null)
    void host.call('picture.withdraw', { token: row.offer.token }).catch(() => undefined);
}
