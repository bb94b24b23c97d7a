export {
  contactForLoss,
  contactLoss,
  DEFAULT_SIDE_MINUTES,
  grooveKilometres,
  grooveLength,
  grooveSpeed,
  hoursOfSides,
  LP_INNER_RADIUS_MM,
  LP_OUTER_RADIUS_MM,
  LP_RPM,
  recordsIn,
  wavelength,
} from './groove.ts';
export {
  type Groove,
  type HoursFigure,
  type HoursLedger,
  hoursLedger,
  LP_GROOVE,
  type PlayedSpan,
  type PlayingTimeInput,
  presentHabit,
  type PresentHabit,
  RELATIVE_STANDARD,
  spanOfPlayed,
  type WeeklyHabit,
  whyNoHabit,
} from './playing-time.ts';
export {
  assumedContactLength,
  bottomContactWidth,
  contactSpan,
  flatArea,
  flatDepth,
  flatsMeetWidth,
  flatWidth,
  innerEdgeDistance,
  seenEndOn,
  WALL_LOAD_SHARE,
} from './tip-geometry.ts';
export {
  fitWearLaw,
  hoursToReach,
  predictWidth,
  type WearLaw,
  type WearLawOptions,
  type WearPoint,
  widthAt,
} from './law.ts';
export { type FlatPoint, flatPoints, type FlatSource } from './flat-points.ts';
export { type CourseInput, fit, type Fitter, wearCourse, wearPoints } from './course.ts';
export { USUAL_SPREAD_UM, withSiblingSpread } from './sibling.ts';
export { addDays, addMonths, dateAtHours, daysBetween } from './dates.ts';
export { type LookInput, nextLook, type NextLook } from './next-look.ts';
export {
  ADVICE_OUTCOMES,
  adviseOn,
  type Advice,
  type AdviceOutcome,
  type AdviceStep,
  type Evidence,
  type RecordedChange,
  type WallEvidence,
} from './advice.ts';
export { CAUSE_NAMES } from './advice-listening.ts';
