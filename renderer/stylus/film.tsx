import { useEffect, useMemo, useState } from 'react';
import type { StylusPage } from '../../shared/index.ts';
import { bitmapMatrix, fitTip, niceLength } from '../bench/geometry.ts';
import { prefersCalm } from '../bench/turning.ts';
import { formatDated, formatHours, grouped, lengthUnit, NBSP } from '../format.ts';
import { hoursAt } from '../state/hours.ts';
import { usePicture } from '../state/pictures.ts';
import { useDaybook } from '../state/use.ts';
import { useNear } from '../ui/bits.tsx';
import { LiveNumberField } from '../ui/fields.tsx';
import { VIEW_SHORT } from '../words.ts';
import { type Film, type FilmFrame, films } from './film-data.ts';

/** Faster than three pictures a second may harm people who are sensitive to flicker (WCAG 2.3.1). */
const MOST_PER_SECOND = 3;
const STAGE = { width: 560, height: 400 } as const;
const THUMB = { width: 112, height: 80 } as const;

/** All pictures of a view in one tip frame: as a strip through the years, and one after the other in place. */
export function FilmSection({ page }: { readonly page: StylusPage }) {
  const all = useMemo(() => films(page), [page]);
  const [view, setView] = useState<Film['view'] | null>(null);
  const film = all.find((one) => one.view === view) ?? all[0];
  if (film === undefined || film.frames.length < 2) return null;
  return (
    <section aria-labelledby="film">
      <h2 id="film">Through the years</h2>
      {all.length > 1 && (
        <div className="filter" role="group" aria-label="View">
          {all.map((one) => (
            <button
              key={one.view}
              type="button"
              className="chip"
              aria-pressed={one === film}
              onClick={() => setView(one.view)}
            >
              {VIEW_SHORT[one.view]}
            </button>
          ))}
        </div>
      )}
      <Player key={film.view} film={film} page={page} />
    </section>
  );
}

function Player({ film, page }: { readonly film: Film; readonly page: StylusPage }) {
  const { frames, left } = film;
  const [at, setAt] = useState(frames.length - 1);
  const [running, setRunning] = useState(false);
  // Who asked for less motion gets a slow start; nothing ever starts by itself.
  const [perSecond, setPerSecond] = useState(() => (prefersCalm() ? 0.5 : 1.5));
  const shown = Math.min(at, frames.length - 1);
  useEffect(() => {
    if (!running) return undefined;
    const timer = setInterval(() => setAt((old) => (old + 1) % frames.length), 1000 / perSecond);
    const stop = (): void => setRunning(false);
    const key = (event: KeyboardEvent): void => {
      if (event.key === 'Escape') stop();
    };
    document.addEventListener('visibilitychange', stop);
    addEventListener('keydown', key);
    return () => {
      clearInterval(timer);
      document.removeEventListener('visibilitychange', stop);
      removeEventListener('keydown', key);
    };
  }, [running, perSecond, frames.length]);
  const go = (index: number): void => {
    setRunning(false);
    setAt(Math.min(frames.length - 1, Math.max(0, index)));
  };
  const words = frames.map((frame) => frameWords(page, frame));
  return (
    <div className="film">
      <figure className="film-figure">
        <div className="film-stage">
          {frames.map((frame, index) =>
            isNext(index, shown, frames.length) ? (
              <Placed
                key={frame.capture.id}
                frame={frame}
                film={film}
                size={STAGE}
                hidden={index !== shown}
                edge={1280}
                alt={index === shown ? `Tip, registered: ${words[index]}` : ''}
              />
            ) : null,
          )}
          <ScaleBar film={film} />
        </div>
        <figcaption>
          <p className="film-caption" role="status" aria-live={running ? 'off' : 'polite'}>
            {`${words[shown]} (${shown + 1} of ${frames.length})`}
          </p>
        </figcaption>
      </figure>
      <div className="film-controls">
        <label className="film-slider">
          Picture
          <input
            type="range"
            min={1}
            max={frames.length}
            step={1}
            value={shown + 1}
            aria-valuetext={words[shown]}
            onChange={(event) => go(Number(event.target.value) - 1)}
          />
        </label>
        <span className="actions">
          <button type="button" className="button" disabled={shown === 0} onClick={() => go(shown - 1)}>
            Earlier
          </button>
          <button
            type="button"
            className="button button-main"
            aria-pressed={running}
            onClick={() => setRunning(!running)}
          >
            {running ? 'Stop' : 'Run as a film'}
          </button>
          <button
            type="button"
            className="button"
            disabled={shown === frames.length - 1}
            onClick={() => go(shown + 1)}
          >
            Later
          </button>
        </span>
        <LiveNumberField
          label="Pictures a second"
          hint={`0.2 to ${MOST_PER_SECOND}; Escape stops it`}
          min={0.2}
          max={MOST_PER_SECOND}
          value={perSecond}
          onChange={setPerSecond}
        />
        {left.length > 0 && (
          <p className="hint">
            {`${grouped(left.length)} more of this view ${left.length === 1 ? 'is' : 'are'} not in it: compare ${left.length === 1 ? 'it' : 'them'} with the baseline, and ${left.length === 1 ? 'it finds its' : 'they find their'} place.`}
          </p>
        )}
      </div>
      <ol className="film-strip" aria-label="The same pictures as a strip, oldest first">
        {frames.map((frame, index) => (
          <li key={frame.capture.id}>
            <button
              type="button"
              className="film-thumb"
              aria-label={`Show ${words[index]}`}
              aria-pressed={index === shown}
              onClick={() => go(index)}
            >
              <Thumb frame={frame} film={film} />
              <span className="film-date">{formatDated(frame.capture.taken).split(',')[0]}</span>
            </button>
          </li>
        ))}
      </ol>
    </div>
  );
}

/** Pictures that are held ready on the stage to both sides of the one that is shown; the film runs in a ring. */
const READY = 5;

function isNext(index: number, shown: number, count: number): boolean {
  const apart = Math.abs(index - shown);
  return Math.min(apart, count - apart) <= READY;
}

function Thumb({ frame, film }: { readonly frame: FilmFrame; readonly film: Film }) {
  const [near, mark] = useNear();
  return (
    <span ref={mark} className="film-window">
      {near && <Placed frame={frame} film={film} size={THUMB} hidden={false} edge={480} alt="" />}
    </span>
  );
}

function frameWords(page: StylusPage, { capture }: FilmFrame): string {
  const day = capture.taken?.wall.slice(0, 10) ?? '';
  const { hours, known } = hoursAt(page, day);
  return `${formatDated(capture.taken)}, ${formatHours(hours)}${known ? '' : ' logged'}${capture.isBaseline ? ', baseline' : ''}`;
}

/** A picture laid where its tip frame wants it, by one matrix for the whole image. */
function Placed(props: {
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

function ScaleBar({ film }: { readonly film: Film }) {
  const unit = useDaybook((state) => state.settings.unit);
  const { factor, symbol } = lengthUnit(unit, film.unit);
  const { zoom } = fitTip(STAGE, film.radius);
  const length = niceLength((120 / zoom) * factor);
  return (
    <span className="film-scale" style={{ width: (length / factor) * zoom }}>
      {`${Number(length.toPrecision(3))}${NBSP}${symbol}`}
    </span>
  );
}
