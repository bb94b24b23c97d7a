import { table } from '../normal-table.ts';
import { BYTES } from './bytes.ts';

/** What `assembly/index.ts` exports. Addresses and counts are integers. */
type Code = {
  readonly memory: WebAssembly.Memory;
  readonly firstFree: () => number;
  readonly evaluate: (...numbers: readonly number[]) => void;
  readonly pick: (...numbers: readonly number[]) => number;
  readonly information: (...numbers: readonly number[]) => void;
  readonly gradient: (...numbers: readonly number[]) => void;
  readonly gather: (...numbers: readonly number[]) => void;
  readonly addTriangle: (...numbers: readonly number[]) => void;
  readonly step: (...numbers: readonly number[]) => number;
  readonly promise: (...numbers: readonly number[]) => number;
};

/** The memory that the compiled code works in, handed out from the bottom and taken back in one piece. */
export type Arena = {
  readonly code: Code;
  /** Address of the table of `normal-table.ts`. */
  readonly normalTable: number;
  /** Address of so many bytes, a multiple of 16. */
  readonly take: (bytes: number) => number;
  /** Address of a copy. */
  readonly keep: (list: Float64Array) => number;
  /** A look at the memory, good until something else is taken. */
  readonly float64: (address: number, length: number) => Float64Array;
  readonly int32: (address: number, length: number) => Int32Array;
  /** Whatever is taken during `work` is free again afterwards. */
  readonly inside: <T>(work: () => T) => T;
};

const PAGE = 65_536;
const GRAIN = 16;

let only: Arena | null = null;

/** The one of this thread; the code is compiled when it is asked for the first time. */
export const arena = (): Arena => (only ??= createArena());

function createArena(): Arena {
  const bytes = Uint8Array.from(atob(BYTES), (letter) => letter.charCodeAt(0));
  const { exports } = new WebAssembly.Instance(new WebAssembly.Module(bytes), {});
  const code = exports as unknown as Code;
  const { memory } = code;
  let free = code.firstFree();
  const take = (wanted: number): number => {
    const at = free;
    free += Math.ceil(wanted / GRAIN) * GRAIN;
    const missing = free - memory.buffer.byteLength;
    if (missing > 0) memory.grow(Math.ceil(missing / PAGE));
    return at;
  };
  const float64 = (address: number, length: number) => new Float64Array(memory.buffer, address, length);
  const keep = (list: Float64Array): number => {
    const at = take(list.byteLength);
    float64(at, list.length).set(list);
    return at;
  };
  return {
    code,
    normalTable: keep(table),
    take,
    keep,
    float64,
    int32: (address, length) => new Int32Array(memory.buffer, address, length),
    inside: (work) => {
      const before = free;
      try {
        return work();
      } finally {
        free = before;
      }
    },
  };
}
