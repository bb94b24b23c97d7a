export {
  calibrateFromRuledSlide,
  type RuledSlideInput,
  type RuledSlideOutcome,
  type RuledSlideScale,
} from './ruled-slide.ts';
export { scaleFromTwoPoints, type TwoPointScale } from './two-points.ts';
export {
  scaleStillHolds,
  type CarryVerdict,
  type MicroscopeSetting,
  type SettingPart,
} from './carried-over.ts';
export { pixelShape, type DirectedScale, type PixelShape } from './pixel-shape.ts';
export { imageShift, type ImageShift } from './image-shift.ts';
