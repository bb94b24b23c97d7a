import type { CaptureModel, Evaluation } from './capture-model.ts';

/**
 * Weighted least squares over one or several captures that share parameters. Each capture maps its local parameters
 * to global ones; priors are independent Gaussians on linear combinations of global parameters.
 */
export type Prior = {
  readonly terms: readonly [number, number][];
  readonly value: number;
  readonly sd: number;
};
export type Part = {
  readonly model: CaptureModel;
  /** Global index of each local parameter. */
  readonly map: Int32Array;
  /** Pixel weights 0..1 from masks (chip, residue) set by the caller. */
  readonly mask: Float64Array;
  /** Variance of a pixel relative to the field's: v = floor + (1 - floor) * grey/field. */
  readonly floor: number;
};
export type Problem = {
  readonly parts: readonly Part[];
  readonly size: number;
  readonly priors: readonly Prior[];
  readonly lower: Float64Array;
  readonly upper: Float64Array;
};
export type Spread = {
  readonly outside: number;
  readonly inside: number;
  /** Variance of sums over blocks of neighbours, over that of independent pixels; 1 or more. */
  readonly outsideTogether: number;
  readonly insideTogether: number;
};

/** The model at one set of parameters; weights may change without asking it again. */
export type Look = {
  readonly p: Float64Array;
  readonly evaluations: Evaluation[];
  readonly residuals: Float64Array[];
};

/** Weights of every capture's pixels, 1/variance included. */
export type Weights = readonly Float64Array[];
