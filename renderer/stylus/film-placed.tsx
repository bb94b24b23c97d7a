import { bitmapMatrix, fitTip } from '../bench/geometry.ts';
import { usePicture } from '../state/pictures.ts';
import type { Film, FilmFrame } from './film-data.ts';

/** A picture laid where its tip frame wants it, by one matrix for the whole image. */
export function Placed(props: {
  readonly frame: FilmFrame;
  readonly film: Film;
  readonly size: { readonly width: number; readonly height: number };
  readonly hidden: boolean;
  readonly edge: number;
  readonly alt: string;
}) {
  const { frame, film, size, hidden, edge, alt } = props;
  const { picture } = usePicture(frame.capture.id, edge);
  if (picture === null) return null;
  const middle = { x: size.width / 2, y: size.height / 2 };
  const reduction = picture.widthPx / frame.capture.widthPx;
  const matrix = bitmapMatrix(fitTip(size, film.radius), frame.pose, reduction, middle);
  return (
    <img
      className="film-picture"
      src={picture.url}
      alt={alt}
      draggable={false}
      width={picture.widthPx}
      height={picture.heightPx}
      style={{
        transform: `matrix(${matrix.map((part) => part.toFixed(6)).join(',')})`,
        visibility: hidden ? 'hidden' : 'visible',
      }}
    />
  );
}
