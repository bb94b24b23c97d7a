import { useCallback, useDeferredValue, useEffect, useRef, useState, type ReactNode } from 'react';
import { CAUTIONS } from '../words.ts';
import { usePicture } from '../state/pictures.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { Icon } from './icons.tsx';

/** Cautions at the place where the hand is about to do the thing. */
export function Cautions({
  title,
  lines,
  open = true,
}: {
  readonly title: string;
  readonly lines: readonly string[];
  readonly open?: boolean;
}) {
  return (
    <details className="cautions" open={open}>
      <summary>
        <Icon name="warn" />
        {title}
      </summary>
      <ul>
        {lines.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
      <p className="hint">{CAUTIONS.maker}</p>
    </details>
  );
}

/** Becomes true for good when the marked element comes near the window's visible part: far pictures need no reading. */
export function useNear(): [boolean, (element: Element | null) => (() => void) | undefined] {
  const [near, setNear] = useState(typeof IntersectionObserver === 'undefined');
  const mark = useCallback((element: Element | null) => {
    if (element === null || typeof IntersectionObserver === 'undefined') return undefined;
    const observer = new IntersectionObserver(
      (seen) => {
        if (seen.some((one) => one.isIntersecting)) setNear(true);
      },
      { rootMargin: '400px' },
    );
    observer.observe(element);
    return () => observer.disconnect();
  }, []);
  return [near, mark];
}

/**
 * True at once where `now`, else as soon as what stands around is shown: a large screen shows its first part first, and
 * makes the rest in slices between which it answers.
 */
export function Soon({ now, children }: { readonly now: boolean; readonly children: ReactNode }) {
  return useDeferredValue(true, now) ? children : null;
}

export function Picture({
  captureId,
  edge,
  alt,
}: {
  readonly captureId: string | null;
  readonly edge: number;
  readonly alt: string;
}) {
  const [near, mark] = useNear();
  const { picture, failed } = usePicture(near ? captureId : null, edge);
  if (captureId === null) return <span className="picture picture-none">no picture yet</span>;
  if (failed) return <span className="picture picture-none">picture cannot be read</span>;
  if (picture === null) return <span ref={mark} className="picture picture-wait" aria-hidden="true" />;
  return <img className="picture" src={picture.url} alt={alt} draggable={false} />;
}

export function Refused({
  sentence,
  children,
}: {
  readonly sentence: string;
  readonly children?: ReactNode;
}) {
  return (
    <div className="refused" role="status">
      <Icon name="warn" />
      <div>
        <p>{sentence}</p>
        {children}
      </div>
    </div>
  );
}

/** The way back to the screen that this one belongs to, and what is said beside it. */
export function Crumb(props: { readonly to: string; readonly name: string; readonly children?: ReactNode }) {
  return (
    <p className="crumb">
      <a href={props.to}>
        <Icon name="back" />
        {props.name}
      </a>
      {props.children}
    </p>
  );
}

/** A screen's heading takes the focus when the screen appears, so that keyboard and screen reader start there. */
export function ScreenTitle({ children }: { readonly children: ReactNode }) {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    heading.current?.focus({ preventScroll: true });
    window.scrollTo(0, 0);
  }, []);
  return (
    <h1 ref={heading} tabIndex={-1}>
      {children}
    </h1>
  );
}

/** What is running, how far it is, and how to stop it. */
export function Jobs() {
  const jobs = useDaybook((state) => state.jobs);
  const { cancel } = useModel();
  const running = Object.values(jobs);
  if (running.length === 0) return null;
  return (
    <section className="jobs" aria-label="Work in progress">
      {running.map((job) => (
        <div className="job" key={job.id}>
          <div>
            <strong>{job.title}</strong>
            <span className="hint" role="status">
              {job.cancelling ? 'stopping' : job.stage}
            </span>
          </div>
          <progress aria-label={job.title} max={1} value={job.fraction} />
          <button
            type="button"
            className="button"
            disabled={job.cancelling}
            onClick={() => void cancel(job.id)}
          >
            Stop
          </button>
        </div>
      ))}
    </section>
  );
}
