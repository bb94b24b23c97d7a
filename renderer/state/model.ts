import type { StoreApi } from 'zustand/vanilla';
import type {
  Binnable,
  Capture,
  Comparison,
  Entry,
  EntryKind,
  Habit,
  HistoryState,
  HostClient,
  MarkDraft,
  OutputOf,
  ScaleCard,
  StylusCard,
  StylusPage,
} from '../../shared/index.ts';
import type { Sizing } from '../marks/ground.ts';
import type { PlaceGround } from '../marks/place.ts';
import type { Route } from './route.ts';
import type { Settings } from './settings.ts';

/** Everything the window knows. The host owns the collection; what is here is a copy that `changed` events renew. */
export type Dialog =
  | { readonly kind: 'stylus'; readonly stylusId: string | null }
  | { readonly kind: 'import'; readonly stylusId: string | null; readonly files: readonly File[] }
  | { readonly kind: 'playing'; readonly stylusId: string; readonly entry: Entry | null }
  | { readonly kind: 'habit'; readonly stylusId: string; readonly habit: Habit | null }
  | { readonly kind: 'play-list'; readonly stylusId: string }
  | {
      readonly kind: 'entry';
      readonly stylusId: string;
      readonly entryKind: EntryKind;
      readonly entry: Entry | null;
    }
  | { readonly kind: 'capture'; readonly capture: Capture }
  | { readonly kind: 'cleaning-pair' }
  /** A scale card to be edited, or a new one; from a picture of the collection when `captureId` is given. */
  | { readonly kind: 'scale-card'; readonly card: ScaleCard | null; readonly captureId: string | null }
  | { readonly kind: 'retire'; readonly stylusId: string }
  | { readonly kind: 'compare'; readonly stylusId: string }
  | {
      readonly kind: 'mark';
      readonly draft: MarkDraft;
      readonly id: string | null;
      readonly sizing: Sizing;
      /** What its place is held against; null where that is not known. */
      readonly ground: PlaceGround | null;
    }
  | { readonly kind: 'settings' }
  | { readonly kind: 'help' }
  | { readonly kind: 'commands' };

export type Toast = {
  readonly id: number;
  readonly tone: 'plain' | 'problem';
  readonly text: string;
  /** How often in a row it was said. */
  readonly times: number;
  readonly undo: (() => Promise<void>) | null;
  /** The step of the history that its undo takes back, so that Ctrl+Z takes the message away, too. */
  readonly step: number | null;
};
export type Job = {
  readonly id: string;
  readonly title: string;
  readonly stage: string;
  readonly fraction: number;
  readonly cancelling: boolean;
};
export type Binned = Binnable;

export type Daybook = {
  readonly route: Route;
  readonly info: OutputOf<'app.info'> | null;
  readonly cards: readonly StylusCard[] | null;
  readonly page: StylusPage | null;
  /** The sentence shown instead of a screen that could not be loaded. */
  readonly problem: string | null;
  readonly dialog: Dialog | null;
  readonly toasts: readonly Toast[];
  /** The next steps of undo and redo, as the host keeps them. */
  readonly history: HistoryState;
  readonly jobs: Readonly<Record<string, Job>>;
  readonly settings: Settings;
};
export type DaybookStore = StoreApi<Daybook>;
export type DaybookModel = { readonly store: DaybookStore; readonly host: HostClient } & Actions;

export type Actions = {
  /** Loads what the first screen needs and listens for changes. */
  start: () => Promise<void>;
  go: (route: Route) => void;
  /** As `go` where a person asks for it, out of a dialog too: stays, and says why, while something is not saved. */
  leave: (route: Route) => void;
  /** The address changed under us (back, forward, typed). */
  follow: (hash: string) => Promise<void>;
  refresh: () => Promise<void>;
  open: (dialog: Dialog | null) => void;
  set: (settings: Partial<Settings>) => void;
  say: (text: string, tone?: Toast['tone'], undo?: (() => Promise<void>) | null) => void;
  /** Says what was just done and offers to take exactly that back. */
  done: (text: string) => Promise<void>;
  dismiss: (id: number) => void;
  /** Takes back one step: that of a message, or the last one of the history. */
  undo: (which?: () => Promise<void>) => Promise<void>;
  redo: () => Promise<void>;
  /** Runs something that talks to the host; a refusal becomes a message and the answer is null. */
  attempt: <T>(work: () => Promise<T>) => Promise<T | null>;
  /** Runs a job with progress; null when it was cancelled or refused. */
  run: <T>(title: string, work: (jobId: string) => Promise<T>) => Promise<T | null>;
  cancel: (jobId: string) => Promise<void>;
  bin: (kind: Binned, id: string, what: string) => Promise<void>;
  compare: (baselineId: string, laterId: string) => Promise<Comparison | null>;
};

export type Surroundings = {
  readonly storage: Pick<Storage, 'getItem' | 'setItem'> | null;
  readonly hash: string;
  readonly writeHash: (hash: string) => void;
};
