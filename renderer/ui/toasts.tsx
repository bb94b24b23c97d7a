import { Toast as Radix } from 'radix-ui';
import { useEffect, useLayoutEffect, useRef, useState } from 'react';
import { createPortal } from 'react-dom';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { controlsOnScreen, EDGE_PX, freePlace, wordsOnScreen, type Place } from './free-side.ts';
import { Icon } from './icons.tsx';
import { useMessagesSlot } from './messages-slot.ts';

/** As many as are read at a glance; earlier ones are behind a button until their time is over, too. */
const SHOWN = 3;

/** Messages at the edge of the window, or above the dialog that is open. One with an undo stays long enough to be read and reached by keyboard. */
export function Toasts() {
  const toasts = useDaybook((state) => state.toasts);
  const { dismiss, undo } = useModel();
  // Another place is another list.
  const [list, setList] = useState<HTMLOListElement | null>(null);
  const slot = useMessagesSlot();
  const [all, setAll] = useState(false);
  const earlier = Math.max(0, toasts.length - SHOWN);
  if (all && earlier === 0) setAll(false);
  useHeightTold(list);
  const { edge, side } = useFreePlace(list, toasts.length);
  const viewport = (
    <Radix.Viewport
      ref={setList}
      label="Messages ({hotkey})"
      className="toasts"
      data-edge={edge}
      data-side={side}
    >
      {earlier > 0 && (
        <li className="toast-more">
          <button type="button" className="button" aria-expanded={all} onClick={() => setAll(!all)}>
            {all
              ? 'Only the latest messages'
              : `${earlier} earlier ${earlier === 1 ? 'message' : 'messages'}`}
          </button>
        </li>
      )}
    </Radix.Viewport>
  );
  return (
    <Radix.Provider label="Message" swipeDirection="left">
      {toasts.map((toast, index) => (
        <Radix.Root
          key={toast.id}
          className={`toast toast-${toast.tone}`}
          hidden={!all && index < earlier}
          type={toast.tone === 'problem' ? 'foreground' : 'background'}
          duration={toast.tone === 'problem' || toast.undo !== null ? 15_000 : 6_000}
          onOpenChange={(open) => !open && dismiss(toast.id)}
        >
          <Radix.Description className="toast-text">
            {toast.times === 1 ? toast.text : `${toast.text} (${toast.times} times)`}
          </Radix.Description>
          {toast.undo !== null && (
            <Radix.Action
              altText={toast.step === null ? 'Take it back with the button Undo' : 'Take it back with Ctrl+Z'}
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
      {slot === null || toasts.length === 0 ? viewport : createPortal(viewport, slot)}
    </Radix.Provider>
  );
}

/** Jobs that run stand at the window's foot themselves. */
const JOBS_FOOT_PX = 76;

/**
 * Found anew with every message that comes, and when what lies under them becomes another screen or a dialog goes; left
 * alone while somebody reads or reaches for it.
 */
function useFreePlace(list: HTMLElement | null, count: number): Place {
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
    if (!more || count === 0 || open || list === null) return;
    const { width, height } = list.getBoundingClientRect();
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
function useHeightTold(list: HTMLElement | null): void {
  useEffect(() => {
    if (list === null) return undefined;
    const { style } = document.documentElement;
    const observer = new ResizeObserver(([entry]) => {
      const height = Math.ceil(entry.borderBoxSize[0]?.blockSize ?? entry.contentRect.height);
      style.setProperty('--messages', `${height === 0 ? 0 : height + 8}px`);
    });
    observer.observe(list);
    return () => {
      observer.disconnect();
      style.removeProperty('--messages');
    };
  }, [list]);
}
