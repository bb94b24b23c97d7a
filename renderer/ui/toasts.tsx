import { Toast as Radix } from 'radix-ui';
import { useEffect, useLayoutEffect, useRef, useState, type RefObject } from 'react';
import { useDaybook, useModel } from '../state/use.ts';
import { controlsOnScreen, freeSide, type Side } from './free-side.ts';
import { Icon } from './icons.tsx';

/** Messages at the edge of the window. One with an undo stays long enough to be read and reached by keyboard. */
export function Toasts() {
  const toasts = useDaybook((state) => state.toasts);
  const { dismiss, undo } = useModel();
  const list = useRef<HTMLOListElement>(null);
  useHeightTold(list);
  const side = useFreeSide(list, toasts.length);
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
      <Radix.Viewport ref={list} className="toasts" data-side={side} />
    </Radix.Provider>
  );
}

/** Found anew with every message that comes, and left alone while somebody reads or reaches for it. */
function useFreeSide(list: RefObject<HTMLElement | null>, count: number): Side {
  const [side, setSide] = useState<Side>('left');
  const last = useRef(0);
  useLayoutEffect(() => {
    const more = count > last.current;
    last.current = count;
    if (more && list.current !== null)
      setSide(freeSide(list.current.getBoundingClientRect(), controlsOnScreen(), innerWidth));
  }, [list, count]);
  return side;
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
