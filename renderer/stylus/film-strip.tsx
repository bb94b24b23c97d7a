import { useVirtualizer } from '@tanstack/react-virtual';
import { useRef } from 'react';
import { formatDated } from '../format.ts';
import { useNear } from '../ui/bits.tsx';
import type { Film } from './film-data.ts';
import { Placed } from './film-placed.tsx';

/** The film's pictures side by side; a click shows one of them on the stage. */
type StripProps = {
  readonly film: Film;
  readonly shown: number;
  readonly onShow: (index: number) => void;
  /** Date and hours of a picture, for those who hear it. */
  readonly wordsOf: (index: number) => string;
};

const THUMB = { width: 112, height: 80 } as const;
/** Up to here all are drawn; of more only those in sight. */
const ALL_DRAWN = 40;
const NAME = 'The same pictures as a strip, oldest first';

export const FilmStrip = (props: StripProps) =>
  props.film.frames.length <= ALL_DRAWN ? <PlainStrip {...props} /> : <WindowedStrip {...props} />;

function PlainStrip(props: StripProps) {
  return (
    <ol className="film-strip" aria-label={NAME}>
      {props.film.frames.map((frame, index) => (
        <li key={frame.capture.id}>
          <Thumb {...props} index={index} />
        </li>
      ))}
    </ol>
  );
}

/** As .film-thumb and .film-strip have it: the picture with its frame, and the space to the next one, px. */
const thumbWidth = (): number => THUMB.width + 10;
const GAP = 10;
const EDGE = 4;

function WindowedStrip(props: StripProps) {
  const { frames } = props.film;
  const window = useRef<HTMLDivElement>(null);
  // Nothing here is memoised by a compiler, which is what the rule warns of.
  // oxlint-disable-next-line react/incompatible-library
  const thumbs = useVirtualizer({
    horizontal: true,
    count: frames.length,
    getScrollElement: () => window.current,
    estimateSize: thumbWidth,
    gap: GAP,
    paddingStart: EDGE,
    paddingEnd: EDGE,
    overscan: 6,
  });
  return (
    <div className="film-strip film-strip-windowed" ref={window}>
      <ol aria-label={NAME} style={{ width: thumbs.getTotalSize() }}>
        {thumbs.getVirtualItems().map(({ index, start }) => (
          <li
            key={frames[index].capture.id}
            aria-setsize={frames.length}
            aria-posinset={index + 1}
            style={{ transform: `translateX(${start}px)` }}
          >
            <Thumb {...props} index={index} />
          </li>
        ))}
      </ol>
    </div>
  );
}

function Thumb({ film, shown, onShow, wordsOf, index }: StripProps & { readonly index: number }) {
  const frame = film.frames[index];
  const [near, mark] = useNear();
  return (
    <button
      type="button"
      className="film-thumb"
      aria-label={`Show ${wordsOf(index)}`}
      aria-pressed={index === shown}
      onClick={() => onShow(index)}
    >
      <span ref={mark} className="film-window">
        {near && <Placed frame={frame} film={film} size={THUMB} hidden={false} edge={480} alt="" />}
      </span>
      <span className="film-date">{formatDated(frame.capture.taken).split(',')[0]}</span>
    </button>
  );
}
