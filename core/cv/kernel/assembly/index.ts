/**
 * The loops over all pixels behind `core/cv/index.ts`, for WebAssembly (AssemblyScript; `npm run kernel` compiles it).
 * Every sum of floats is taken in the order in which OpenCV takes it, so that the results are the same to the last bit.
 * Addresses are handed in; whoever calls lays the memory out.
 */
export { blurRow, blurColumns } from './blur';
export { outlines } from './outline';
export { addRow, meanOfBlocks, reduceRow } from './reduce';
export { seal, spread } from './spread';

/** First address that is free to use. */
export function firstFree(): usize {
  return (__heap_base + 15) & ~15;
}
