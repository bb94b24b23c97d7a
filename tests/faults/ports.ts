import { comparePair, examineCapture } from '../../core/index.ts';
import type { Control } from '../../core/index.ts';
import type { PdfPrinter } from '../../electron/host/context.ts';
import type { Engine } from '../../electron/host/engine.ts';
import type { CompareJob, JobKind, SingleJob } from '../../electron/host/engine-protocol.ts';
import { decodePicture } from '../../electron/host/pictures/decode.ts';
import { encodePicture } from '../../electron/host/pictures/encode.ts';
import { inspectPicture, sharePicture, showPicture } from '../../electron/host/pictures/inspect.ts';
import { bytesOf } from '../../electron/host/pictures/source.ts';
import { connect } from '../../electron/host/store/database.ts';
import type { Connect, Connection } from '../../electron/host/store/database.ts';
import { realDisk, type Disk } from '../../electron/host/store/disk.ts';
import { answer } from '../../shared/index.ts';

/**
 * The program's ports to disk, database, decoder and printer, each with a counter: call number `at` fails, and with
 * `forEver` every one after it. The idea is SQLite's own ("How SQLite Is Tested", 3.1 to 3.3: anomaly tests that fail
 * the n-th operation, once and persistently, until a run goes through without meeting the fault).
 */
export type Port = 'disk' | 'database' | 'decoder' | 'printer';
export type Fault = { readonly port: Port; readonly at: number; readonly forEver: boolean };
export type Counter = { calls: number };
export type Ports = {
  readonly disk: Disk;
  readonly connect: Connect;
  readonly engine: Engine;
  readonly printPdf: PdfPrinter;
};

const broken = () => Object.assign(new Error('ENOSPC: no space left on device'), { code: 'ENOSPC' });

/** Calls `check` before every call of a function of the object. */
function watched<T extends object>(port: T, names: readonly (keyof T)[], check: () => void): T {
  const copy = { ...port };
  for (const name of names) {
    const real = port[name] as (...args: unknown[]) => unknown;
    copy[name] = ((...args: unknown[]) => {
      check();
      return real(...args);
    }) as T[keyof T];
  }
  return copy;
}

/** Promised failures, not thrown ones: that is how a disk fails. */
function faultyDisk(check: () => void): Disk {
  const copy: Record<string, unknown> = {};
  for (const [name, real] of Object.entries(realDisk))
    copy[name] = async (...args: unknown[]) => {
      check();
      return (real as (...a: unknown[]) => unknown)(...args);
    };
  return copy as Disk;
}

type Statement = ReturnType<Connection['prepare']>;

/** Every statement that runs is a call, from the first pragma to the last commit; closing always works. */
function faultyConnect(check: () => void): Connect {
  const statement = (real: Statement): Statement =>
    ({
      run: (...values: never[]) => (check(), real.run(...values)),
      get: (...values: never[]) => (check(), real.get(...values)),
      all: (...values: never[]) => (check(), real.all(...values)),
      iterate: (...values: never[]) => (check(), real.iterate(...values)),
    }) as unknown as Statement;
  return (file, options) => {
    check();
    const real = connect(file, options);
    return {
      exec: (sql: string) => (check(), real.exec(sql)),
      prepare: (sql: string) => statement(real.prepare(sql)),
      close: () => real.close(),
      get isTransaction() {
        return real.isTransaction;
      },
    } as unknown as Connection;
  };
}

const control: Control = { check: () => undefined, now: () => performance.now(), progress: () => undefined };

async function picture(source: Parameters<typeof bytesOf>[0]) {
  const bytes = await bytesOf(source);
  const decoded = bytes.ok ? await decodePicture(bytes.value) : bytes;
  if (!decoded.ok) throw new Error(decoded.reason.message);
  return decoded.value.picture;
}

type Sourced = { source: Parameters<typeof bytesOf>[0]; maxEdgePx: number };

/** The real decoder and the real measurement, in this thread. */
async function work(kind: JobKind, input: unknown): Promise<unknown> {
  if (kind === 'encode') return encodePicture(input as Parameters<typeof encodePicture>[0]);
  if (kind === 'compare') {
    const job = input as CompareJob;
    const [baseline, later] = [await picture(job.baseline), await picture(job.later)];
    const { view, baselineScale, laterScale } = job;
    return answer(await comparePair({ view, baseline, later, baselineScale, laterScale }, control));
  }
  if (kind === 'examine') {
    const { view, picture: source, scale } = input as SingleJob;
    return answer(await examineCapture({ view, picture: await picture(source), scale }, control));
  }
  const { source, maxEdgePx } = input as Sourced;
  const bytes = await bytesOf(source);
  if (!bytes.ok) return bytes;
  if (kind === 'inspect') return inspectPicture(bytes.value, '');
  if (kind === 'share') return sharePicture(bytes.value);
  if (kind === 'show') return showPicture(bytes.value, maxEdgePx);
  throw new Error(`the fault tests know no job "${kind}"`);
}

export function portsWith(fault: Fault, counter: Counter): Ports {
  const check = () => {
    counter.calls++;
    if (fault.forEver ? counter.calls >= fault.at : counter.calls === fault.at) throw broken();
  };
  const pass = () => undefined;
  const on = (port: Port) => (fault.port === port ? check : pass);
  const engine = {
    run: async (kind: JobKind, input: unknown) => work(kind, input),
    close: async () => undefined,
  };
  const printer = { print: async () => new Uint8Array([0x25, 0x50, 0x44, 0x46]) };
  return {
    disk: fault.port === 'disk' ? faultyDisk(check) : realDisk,
    connect: fault.port === 'database' ? faultyConnect(check) : connect,
    engine: watched(engine, ['run'], on('decoder')) as unknown as Engine,
    printPdf: watched(printer, ['print'], on('printer')).print,
  };
}
