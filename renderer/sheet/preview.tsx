import { useEffect, useRef, useState } from 'react';
import { asRefusal } from '../host.ts';
import { Refused } from '../ui/bits.tsx';

export type MadeSheet = { readonly html: string | null; readonly wrong: string | null };

/**
 * A sheet from the host, made anew whenever `key` changes ('' asks for none); the one before stays until the next is there. One at a time:
 * a sheet takes seconds, a browser keeps six connections to the host, and many changes in a row must not fill them.
 */
export function useMadeSheet(
  ask: (key: string) => Promise<{ readonly html: string }>,
  key: string,
): MadeSheet {
  const [made, setMade] = useState<MadeSheet>({ html: null, wrong: null });
  const latest = useRef(ask);
  const work = useRef({ wanted: '', done: '', running: false, shown: false });
  useEffect(() => {
    latest.current = ask;
  });
  useEffect(() => {
    const state = work.current;
    const run = async (): Promise<void> => {
      state.running = true;
      while (state.shown && state.wanted !== state.done) {
        const now = state.wanted;
        try {
          const { html } = await latest.current(now);
          if (state.shown) setMade({ html, wrong: null });
        } catch (error) {
          if (state.shown) setMade((old) => ({ ...old, wrong: asRefusal(error).message }));
        }
        state.done = now;
      }
      state.running = false;
    };
    state.shown = true;
    state.wanted = key;
    if (!state.running) void run();
    return () => {
      state.shown = false;
    };
  }, [key]);
  return made;
}

/** A sheet as it will be printed: the very document that goes to the printer, in a frame that may do nothing. */
export function SheetPreview({
  made: { html, wrong },
  paper,
  title,
}: {
  readonly made: MadeSheet;
  readonly paper: 'A4' | 'Letter';
  readonly title: string;
}) {
  return (
    <>
      {wrong !== null && <Refused sentence={wrong} />}
      {html === null && wrong === null && <p className="waiting">Making the sheet…</p>}
      {html !== null && (
        <iframe
          className={`sheet-frame sheet-${paper.toLowerCase()}`}
          title={title}
          sandbox=""
          srcDoc={html}
        />
      )}
    </>
  );
}
