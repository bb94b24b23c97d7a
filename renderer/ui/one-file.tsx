import { useEffect, useRef, type DragEvent } from 'react';
import { Icon } from './icons.tsx';

/** A place for one picture file: a button, and a target for dropping and pasting while its dialog is open. */
export function OneFile(props: {
  readonly label: string;
  readonly many: boolean;
  readonly hint: string;
  readonly onFile: (file: File) => void;
  /** Takes what is pasted while it is on screen; one place of a dialog at most. */
  readonly pastes?: boolean;
}) {
  const { label, many, hint, onFile, pastes = false } = props;
  const input = useRef<HTMLInputElement>(null);
  const first = (files: FileList | null | undefined): void => {
    const file = files?.[0];
    if (file !== undefined) onFile(file);
  };
  const hear = useRef(first);
  useEffect(() => {
    hear.current = first;
  });
  useEffect(() => {
    if (!pastes) return undefined;
    const paste = (event: ClipboardEvent): void => {
      if (event.clipboardData?.files.length) hear.current(event.clipboardData.files);
    };
    addEventListener('paste', paste);
    return () => removeEventListener('paste', paste);
  }, [pastes]);
  return (
    <div
      className={many ? 'chooser chooser-small' : 'chooser'}
      onDragOver={(event: DragEvent) => event.preventDefault()}
      onDrop={(event: DragEvent) => {
        event.preventDefault();
        first(event.dataTransfer.files);
      }}
    >
      <input
        ref={input}
        type="file"
        accept="image/jpeg,image/png,image/tiff,image/webp"
        className="visually-hidden"
        aria-label={`${label}, file`}
        tabIndex={-1}
        onChange={(event) => {
          first(event.target.files);
          event.target.value = '';
        }}
      />
      <button type="button" className="button" onClick={() => input.current?.click()}>
        <Icon name="picture" />
        {label}
      </button>
      <p className="hint">{hint}</p>
    </div>
  );
}
