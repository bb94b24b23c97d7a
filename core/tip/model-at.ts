import { emptyEvaluation, KAPPA, POSE, type CaptureModel } from './capture-model.ts';
import { withKernels } from './kernel/band-kernel.ts';

/** Points of the tip frame, um, and the field's level at each. */
export type Points = {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly field: Float64Array;
};

const NONE = { grey: new Float64Array(0), index: new Int32Array(0) };

/** Grey that a capture's model with the parameters `p` shows at each of many points, all at once. */
export function modelAt(model: CaptureModel, p: ArrayLike<number>, points: Points): Float64Array {
  // the kernel takes places of the picture: here they are the tip frame's own
  const inTipFrame = Float64Array.from(p);
  inTipFrame.fill(0, POSE, POSE + 3);
  inTipFrame[KAPPA] = 0;
  const there = { ...model, band: { ...NONE, ...points, n: points.x.length } };
  const out = emptyEvaluation(there);
  withKernels([there], ([kernel]) => kernel.evaluate(inTipFrame, false, out));
  return out.model;
}
