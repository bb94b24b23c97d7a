import type { EventName, EventOf } from '../../shared/index.ts';
import type { Calm } from './calm.ts';
import type { Engine } from './engine.ts';
import type { Jobs } from './jobs.ts';
import type { Collection } from './store/collection.ts';

/** Turns one self-contained HTML document into a PDF; made by the shell, which knows a browser. */
export type PdfPrinter = (html: string, paper: 'A4' | 'Letter') => Promise<Uint8Array<ArrayBuffer>>;

export type Emit = <E extends EventName>(name: E, event: EventOf<E>) => void;

/** What every handler may use. */
export type Context = {
  readonly collection: Collection;
  /** Measures; one job at a time, so that a second one waits instead of halving the first one's memory. */
  readonly measuring: Engine;
  /** Looks at pictures and shrinks them, beside a running measurement. */
  readonly pictures: Engine;
  readonly jobs: Jobs;
  /** For work in the background that must not hold up the window. */
  readonly calm: Calm;
  readonly emit: Emit;
  readonly shell: 'electron' | 'loopback' | 'test';
  readonly version: string;
  readonly printPdf: PdfPrinter | null;
  /** Folder with demo.json and its pictures; null when there is none in this build. */
  readonly demoFolder: string | null;
  readonly timeLimitMs: number;
};
