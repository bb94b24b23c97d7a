/** Compiles `core/tip/kernel/assembly`; base64. */
export function compile(): Promise<string>;
/** The text of `bytes.ts` for the compiled code. */
export function sourceOf(base64: string): string;
