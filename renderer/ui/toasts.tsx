import { Toast as Radix } from 'radix-ui';
import { useEffect, useLayoutEffect, useRef, useState, type RefObject } from 'react';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { controlsOnScreen, EDGE_PX, freePlace, wordsOnScreen, type Place } from './free-side.ts';
import { Icon } from './icons.tsx';

/** Messages at the edge of the window. One with an undo stays long enough to be read and reached by keyboard. */
export function Toasts() {
  const toasts = useDaybook((state) => state.toasts);
  const { dismiss, undo } = useModel();
  const list = useRef<HTMLOListElement>(null);
  useHeightTold(list);
  const { edge, side } = useFreePlace(list, toasts.length);
  return (
    <Radix.Provider label="Message" swipeDirection="left">
      {toasts.map((toast) => (
        <Radix.Root
          key={toast.id}
          className={`toast toast-${toast.tone}`}
          type={toast.tone === 'problem' ? 'foreground' : 'background'}
          duration={toast.tone === 'problem' || toast.undo !== null ? 15_000 : 6_000}
          onOpenChange={(open) => !open && dismiss(toast.id)}
        >
          <Radix.Description className="toast-text">{toast.text}</Radix.Description>
          {toast.undo !== null && (
            <Radix.Action
              altText="Take it back with Ctrl+Z"
              className="button"
              onClick={() => void undo(toast.undo ?? undefined)}
            >
              <Icon name="undo" />
              Undo
            </Radix.Action>
          )}
          <Radix.Close className="button button-quiet button-icon" aria-label="Dismiss message">
            <Icon name="close" />
          </Radix.Close>
        </Radix.Root>
      ))}
      <Radix.Viewport ref={list} className="toasts" data-edge={edge} data-side={side} />
    </Radix.Provider>
  );
}

/** Jobs that run stand at the window's foot themselves. */
const JOBS_FOOT_PX = 76;

/**
 * Found anew with every message that comes, and when what lies under them becomes another screen or a dialog goes; left
 * alone while somebody reads or reaches for it.
 */
function useFreePlace(list: RefObject<HTMLElement | null>, count: number): Place {
  const [place, setPlace] = useState<Place>({ edge: 'foot', side: 'left' });
  const screen = useDaybook((state) => writeRoute(state.route));
  const open = useDaybook((state) => state.dialog !== null);
  const loaded = useDaybook((state) => state.page?.stylus.id ?? null);
  const under = `${screen} ${open} ${loaded}`;
  const last = useRef({ count: 0, under });
  useLayoutEffect(() => {
    const more = count > last.current.count || under !== last.current.under;
    last.current = { count, under };
    // Above an open dialog they stand where the dialog makes room.
    if (!more || count === 0 || open || list.current === null) return;
    const { width, height } = list.current.getBoundingClientRect();
    const footPx = document.querySelector('.jobs') === null ? EDGE_PX : JOBS_FOOT_PX;
    const room = { width, height, windowWidth: innerWidth, windowHeight: innerHeight, footPx };
    setPlace(freePlace(room, controlsOnScreen(), wordsOnScreen()));
  }, [list, count, under, open]);
  return place;
}

/**
 * An open dialog makes room for the messages above it, so that they cover neither its title nor its buttons; a screen can
 * be scrolled clear of them.
 */
function useHeightTold(list: RefObject<HTMLElement | null>): void {
  useEffect(() => {
    const element = list.current;
    if (element === null) return undefined;
    const { style } = document.documentElement;
    const observer = new ResizeObserver(([entry]) => {
      const height = Math.ceil(entry.borderBoxSize[0]?.blockSize ?? entry.contentRect.height);
      style.setProperty('--messages', `${height === 0 ? 0 : height + 8}px`);
    });
    observer.observe(element);
    return () => {
      observer.disconnect();
      style.removeProperty('--messages');
    };
  }, [list]);
}
