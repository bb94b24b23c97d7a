import type { CameraRecord, Dated, Made, View } from '../../shared/index.ts';
import { recordedSettings } from './constraints.ts';
import type { MeanFacts, TakenPicture } from './protocol.ts';
import type { SessionView, Stream } from './session.ts';

const two = (value: number): string => String(Math.floor(value)).padStart(2, '0');

/** Wall time of this machine with its offset from UTC at that moment: what a clock on the wall shows. */
export function nowDated(date: Date): Dated {
  const minutes = -date.getTimezoneOffset();
  const offset = `${minutes < 0 ? '-' : '+'}${two(Math.abs(minutes) / 60)}:${two(Math.abs(minutes) % 60)}`;
  const day = `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  const time = `${two(date.getHours())}:${two(date.getMinutes())}:${two(date.getSeconds())}`;
  return { wall: `${day}T${time}`, offset, source: 'camera' };
}

/** Name of the stored file: says what it is to whoever finds it in an export. */
export const liveFileName = (view: View, taken: Dated, part = ''): string =>
  `live ${view}${part} ${taken.wall.slice(0, 10)} ${taken.wall.slice(11).replaceAll(':', '.')}.png`;

export function madeOf(picture: TakenPicture, mean: MeanFacts | null): Made {
  if (mean === null) return { how: 'frame' };
  const { frames, same, moved, noise } = mean;
  return { how: 'mean', frames, same, moved, bits: picture.bits, noise };
}

/** How this picture was taken, as the camera reads back at this moment. */
export function recordOf(
  { label, settings, held, state }: Pick<SessionView<Stream>, 'label' | 'settings' | 'held' | 'state'>,
  picture: TakenPicture,
  made: Made,
): CameraRecord {
  return {
    camera: label.slice(0, 300),
    widthPx: picture.width,
    heightPx: picture.height,
    frameRate: state.granted?.frameRate ?? null,
    resizeMode: state.granted?.resizeMode ?? 'not reported',
    settings: recordedSettings(settings),
    held: [...held],
    made,
  };
}

/** Samples as the host takes them: 16-bit ones low byte first, which is how every machine we run on keeps them. */
export const bytesOf = ({ data }: TakenPicture): Uint8Array<ArrayBuffer> =>
  data instanceof Uint16Array ? new Uint8Array(data.buffer, data.byteOffset, data.byteLength) : data;
