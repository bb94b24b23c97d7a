export {
  COVERAGE_PROBABILITY,
  chiSquareCdf,
  chiSquareQuantile,
  coverageFactor,
  normalCdf,
  fCdf,
  fQuantile,
  normalQuantile,
  studentTCdf,
  studentTQuantile,
} from './distributions.ts';
export { erfc, incompleteBeta, incompleteGamma, logGamma } from './special-functions.ts';
export {
  combineBudget,
  FIT_SOURCE,
  POSE_SOURCE,
  fromHalfWidth,
  measuredFrom,
  propagate,
  welchSatterthwaite,
  widened,
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
export {
  evaluateStudy,
  poolStudies,
  readingOf,
  type Pooled,
  type StudyReading,
  type StudyResult,
} from './study.ts';
export { comparisonWithRepeatability, examinationWithRepeatability } from './repeatability-in-report.ts';
export { DECISION_FACTOR, MISS_FACTOR, decisionThreshold, detectionLimit } from './detection.ts';
