/** Folders of the kernels inside `core/`. */
export const KERNELS: readonly string[];
/** Compiles the `assembly/` of one of them; base64. */
export function compile(kernel: string): Promise<string>;
/** The text of `bytes.ts` for the compiled code. */
export function sourceOf(base64: string): string;
