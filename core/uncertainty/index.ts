export {
  COVERAGE_PROBABILITY,
  chiSquareCdf,
  chiSquareQuantile,
  coverageFactor,
  normalCdf,
  normalQuantile,
  studentTCdf,
  studentTQuantile,
} from './distributions.ts';
export { erfc, incompleteBeta, incompleteGamma, logGamma } from './special-functions.ts';
export {
  combineBudget,
  fromHalfWidth,
  measuredFrom,
  propagate,
  welchSatterthwaite,
  type Combined,
} from './budget.ts';
export { roundLimitUp, roundTogether, type Rounded } from './rounding.ts';
export {
  LEAST_REPEATS,
  poolRepeatability,
  repeatabilityLine,
  repeatabilityStudy,
  type Repeatability,
} from './repeatability.ts';
export { DECISION_FACTOR, MISS_FACTOR, decisionThreshold, detectionLimit } from './detection.ts';
