/**
 * The inner loops of a fit, for WebAssembly: the model of `capture-model.ts`, its derivatives and the normal equations'
 * sums, over all pixels of a band at once. AssemblyScript, a subset of TypeScript (`npm run kernel` compiles it). The
 * formulas and their derivation stand beside the same functions in `wedge.ts`, `blurred-edge.ts`, `interior.ts` and
 * `capture-model.ts`, and a test holds the two against each other. All numbers are f64; lists are laid out by
 * `band-kernel.ts`.
 */
export { evaluate, pick } from './band';
export { firstFree } from './memory';
export { gradient, information } from './sums';
export { addTriangle, gather, promise, step } from './system';
