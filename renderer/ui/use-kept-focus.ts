import { useEffect, useRef, type RefObject } from 'react';

/**
 * What had the focus may go away with what it did: a question that was answered. The focus then goes to the part's
 * heading instead of nowhere, so that the next Tab goes on from there. The heading needs tabIndex -1.
 */
export function useKeptFocus(part: RefObject<HTMLElement | null>): void {
  const inside = useRef(false);
  useEffect(() => {
    const note = ({ target }: Event): void => {
      inside.current = target instanceof Node && part.current?.contains(target) === true;
    };
    document.addEventListener('focusin', note);
    document.addEventListener('pointerdown', note);
    return () => {
      document.removeEventListener('focusin', note);
      document.removeEventListener('pointerdown', note);
    };
  }, [part]);
  useEffect(() => {
    if (!inside.current || document.activeElement !== document.body) return;
    if (document.querySelector('.dialog') === null)
      part.current?.querySelector<HTMLElement>('h2[tabindex]')?.focus({ preventScroll: true });
  });
}
