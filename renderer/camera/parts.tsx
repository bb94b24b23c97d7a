import { useEffect, useState } from 'react';
import { useModel } from '../state/use.ts';

/** The focal planes behind a merge, small; each opens nothing, they are there to be looked at. */
export function Parts({ captureId, count }: { readonly captureId: string; readonly count: number }) {
  const [open, setOpen] = useState(false);
  return (
    <details onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{`The ${count} single planes`}</summary>
      {open && (
        <ul className="live-parts">
          {Array.from({ length: count }, (_, number) => (
            <li key={number}>
              <Part captureId={captureId} number={number} />
            </li>
          ))}
        </ul>
      )}
    </details>
  );
}

function Part({ captureId, number }: { readonly captureId: string; readonly number: number }) {
  const { host } = useModel();
  const [url, setUrl] = useState<string | null>(null);
  const [failed, setFailed] = useState(false);
  useEffect(() => {
    let made: string | null = null;
    let shown = true;
    host.call('capture.part', { id: captureId, number, maxEdgePx: 480 }).then(
      ({ bytes, mediaType }) => {
        if (!shown) return undefined;
        made = URL.createObjectURL(new Blob([bytes], { type: mediaType }));
        return setUrl(made);
      },
      () => shown && setFailed(true),
    );
    return () => {
      shown = false;
      if (made !== null) URL.revokeObjectURL(made);
    };
  }, [host, captureId, number]);
  if (failed) return <span className="picture picture-none">plane cannot be read</span>;
  if (url === null) return <span className="picture picture-wait" aria-hidden="true" />;
  return <img className="picture" src={url} alt={`Focal plane ${number + 1}`} />;
}
