export {
  calibrateFromRuledSlide,
  type RuledSlideInput,
  type RuledSlideOutcome,
  type RuledSlideScale,
} from './ruled-slide.ts';
export { scaleFromTwoPoints, type TwoPointScale } from './two-points.ts';
export {
  cardVerdict,
  scaleStillHolds,
  type CardSetting,
  type CarryVerdict,
  type PictureSetting,
  type MicroscopeSetting,
  type SettingPart,
} from './carried-over.ts';
export { pixelShape, type DirectedScale, type PixelShape } from './pixel-shape.ts';
export { imageShift, type ImageShift } from './image-shift.ts';
