import { BYTES } from './kernel/bytes.ts';

/** What `kernel/assembly/index.ts` exports. Addresses and counts are integers, truth is 0 or 1. */
type Code = {
  readonly memory: WebAssembly.Memory;
  readonly firstFree: () => number;
  readonly blurRow: (from: number, kernel: number, size: number, width: number, to: number) => void;
  readonly blurColumns: (rows: number, kernel: number, half: number, width: number, to: number) => void;
  readonly reduceRow: (from: number, table: number, count: number, width: number, to: number) => void;
  readonly addRow: (row: number, share: number, width: number, sum: number, begins: number) => void;
  readonly meanOfBlocks: (
    from: number,
    stride: number,
    across: number,
    down: number,
    width: number,
    to: number,
  ) => void;
  readonly spread: (
    plane: number,
    across: number,
    other: number,
    width: number,
    height: number,
    stride: number,
    times: number,
    round: number,
    grow: number,
  ) => void;
  readonly seal: (plane: number, width: number, height: number, stride: number) => void;
  readonly outlines: (
    plane: number,
    width: number,
    height: number,
    stride: number,
    least: number,
    out: number,
  ) => number;
};

const PAGE = 65_536;
const GRAIN = 16;

let only: Code | null = null;

/** The one of this thread; compiled when it is asked for the first time. */
function kernel(): Code {
  if (only !== null) return only;
  const bytes = Uint8Array.from(atob(BYTES), (letter) => letter.charCodeAt(0));
  const { exports } = new WebAssembly.Instance(new WebAssembly.Module(bytes), {});
  return (only = exports as unknown as Code);
}

/** The compiled code with so much memory as `sizes` (bytes) ask for; addresses are multiples of 16, each used once. */
export function laidOut(sizes: readonly number[]): { readonly code: Code; readonly at: number[] } {
  const code = kernel();
  let free = code.firstFree();
  const at = sizes.map((bytes) => {
    const here = free;
    free += Math.ceil(bytes / GRAIN) * GRAIN;
    return here;
  });
  const missing = free - code.memory.buffer.byteLength;
  if (missing > 0) code.memory.grow(Math.ceil(missing / PAGE));
  return { code, at };
}
