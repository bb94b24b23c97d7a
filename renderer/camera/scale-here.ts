import { scaleKey, type CameraRecord, type PictureFacts, type Scale } from '../../shared/index.ts';

/** A scale that holds for the live picture, and the picture that it comes from. */
export type ScaleHere = { readonly scale: Scale; readonly from: PictureFacts };

/**
 * The newest picture that was taken with the same camera, frame size, resize mode, zoom and focus distance, and has a
 * scale. Anything else takes the scale away: um per pixel change with each of these.
 */
export function scaleHere(captures: readonly PictureFacts[], here: CameraRecord): ScaleHere | null {
  const key = scaleKey(here);
  const [from] = captures
    .filter((one) => one.scale !== null && one.camera !== null && scaleKey(one.camera) === key)
    .toSorted((a, b) => (b.taken?.wall ?? b.createdAt).localeCompare(a.taken?.wall ?? a.createdAt));
  if (from?.scale === undefined || from.scale === null) return null;
  return { scale: { ...from.scale, source: 'carried-over' }, from };
}

/** What differs from the newest picture of this camera that has a scale: why a scale that was there is gone. */
export function scaleLost(captures: readonly PictureFacts[], here: CameraRecord): string | null {
  const [last] = captures
    .filter((one) => one.scale !== null && one.camera?.camera === here.camera)
    .toSorted((a, b) => b.createdAt.localeCompare(a.createdAt));
  const there = last?.camera;
  if (there === undefined || there === null || scaleKey(there) === scaleKey(here)) return null;
  const differs: string[] = [];
  if (there.widthPx !== here.widthPx || there.heightPx !== here.heightPx)
    differs.push(`the frame was ${there.widthPx} × ${there.heightPx} px`);
  if (there.resizeMode !== here.resizeMode) differs.push('the frames were resized in another way');
  if (there.settings['zoom'] !== here.settings['zoom']) differs.push('the zoom was another one');
  if (there.settings['focusDistance'] !== here.settings['focusDistance'])
    differs.push('the focus was set elsewhere');
  return `The scale of the last picture with this camera does not hold here: ${differs.join(', ')}.`;
}
