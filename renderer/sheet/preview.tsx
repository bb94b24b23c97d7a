import { useEffect, useRef, useState } from 'react';
import { asRefusal } from '../host.ts';
import { Refused } from '../ui/bits.tsx';

export type MadeSheet = { readonly html: string | null; readonly wrong: string | null };

/** A sheet from the host, made anew whenever `key` changes; the one before stays until the next is there. */
export function useMadeSheet(
  ask: (key: string) => Promise<{ readonly html: string }>,
  key: string,
): MadeSheet {
  const [made, setMade] = useState<MadeSheet>({ html: null, wrong: null });
  const latest = useRef(ask);
  useEffect(() => {
    latest.current = ask;
  });
  useEffect(() => {
    let shown = true;
    latest.current(key).then(
      ({ html }) => shown && setMade({ html, wrong: null }),
      (error: unknown) => shown && setMade((old) => ({ ...old, wrong: asRefusal(error).message })),
    );
    return () => {
      shown = false;
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
