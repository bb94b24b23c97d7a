import { useEffect, useRef, useState, type RefObject } from 'react';

/** The width an element really has, in CSS pixels, so that a drawing's text keeps its size. */
export function useWidth<T extends HTMLElement>(start: number): readonly [RefObject<T | null>, number] {
  const ref = useRef<T>(null);
  const [width, setWidth] = useState(start);
  useEffect(() => {
    const element = ref.current;
    if (element === null) return undefined;
    const observer = new ResizeObserver(([entry]) => {
      const next = Math.floor(entry.contentRect.width);
      if (next > 0) setWidth(next);
    });
    observer.observe(element);
    return () => observer.disconnect();
  }, []);
  return [ref, width];
}
