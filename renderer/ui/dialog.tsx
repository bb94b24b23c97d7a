import { Dialog as Radix } from 'radix-ui';
import { useState, type KeyboardEvent, type ReactNode } from 'react';
import { NOT_SAVED } from '../state/unsaved.ts';
import { useUnsaved } from '../state/use-unsaved.ts';
import { useModel } from '../state/use.ts';
import { Icon } from './icons.tsx';
import { holdMessages } from './messages-slot.ts';

type DialogProps = {
  readonly title: string;
  readonly wide?: boolean;
  /** As wide as the window allows, for a table. */
  readonly full?: boolean;
  /** Something is in it that would be lost. What was typed or chosen in its fields counts without saying so. */
  readonly holds?: boolean;
  /** What is typed in it takes effect at once, or is worth nothing. */
  readonly fleeting?: boolean;
  /** Closing only stops what runs just now; nothing in it is lost by that. */
  readonly stops?: boolean;
  readonly onClose: () => void;
  readonly children: ReactNode;
  /** Buttons at the foot; they stay in sight while the body scrolls. */
  readonly foot?: ReactNode;
};

/** A form starts in its first field, not on the button that closes it. */
function focusFirstField(event: Event): void {
  const content = event.currentTarget as HTMLElement;
  const field = content.querySelector<HTMLElement>(
    '.dialog-body :is(input:not([tabindex="-1"]), select, textarea)',
  );
  if (field === null) return;
  event.preventDefault();
  field.focus();
}

/** Where the hands were before a dialog opened, or the first of several that followed each other. */
let outside: HTMLElement | null = null;

function noteOutside(): void {
  const active = document.activeElement;
  if (!(active instanceof HTMLElement) || active === document.body || active.closest('.dialog') !== null)
    return;
  // A menu goes away with the choice; what opened it stays.
  const opener = active.closest('[role=menu]')?.getAttribute('aria-labelledby') ?? null;
  outside = opener === null ? active : document.getElementById(opener);
}

/**
 * Our dialogs are opened by commands and have no trigger that the focus could go back to by itself. It goes back to
 * where it was, unless something else has taken it since: another dialog, or the heading of a new screen.
 */
function giveFocusBack(event: Event): void {
  event.preventDefault();
  if (document.querySelector('.dialog') !== null || document.activeElement !== document.body) return;
  const back =
    outside?.isConnected === true ? outside : document.querySelector<HTMLElement>('main h1[tabindex]');
  (back ?? document.getElementById('main'))?.focus();
}

/**
 * Escape closes the dialog that the hands are in, also when a message has come up since: a message counts as a layer
 * above, which takes the key for itself. What else lies over the dialog (an open menu) has it first, and says so.
 */
const closeOnEscape =
  (onClose: () => void) =>
  (event: KeyboardEvent<HTMLElement>): void => {
    const inside = event.target instanceof Node && event.currentTarget.contains(event.target);
    if (event.key === 'Escape' && inside && !event.defaultPrevented) onClose();
  };

export function DialogFrame(props: DialogProps) {
  const {
    title,
    wide = false,
    full = false,
    holds = false,
    fleeting = false,
    stops = false,
    onClose,
    children,
    foot,
  } = props;
  // While it is drawn for the first time the focus is still where it was.
  useState(noteOutside);
  const [touched, setTouched] = useState(false);
  const { say } = useModel();
  const unsaved = holds || (touched && !fleeting);
  const loses = unsaved && !stops;
  /** What can happen by accident throws nothing away: only the buttons do. */
  const stay = (event: Event): void => {
    if (!loses) return;
    event.preventDefault();
    say(NOT_SAVED);
  };
  useUnsaved(unsaved);
  return (
    <Radix.Root open onOpenChange={(open) => !open && onClose()}>
      <Radix.Portal>
        <Radix.Overlay className="veil" />
        <Radix.Content
          className={full ? 'dialog dialog-full' : wide ? 'dialog dialog-wide' : 'dialog'}
          aria-describedby={undefined}
          onOpenAutoFocus={focusFirstField}
          onCloseAutoFocus={giveFocusBack}
          onEscapeKeyDown={stay}
          onPointerDownOutside={stay}
          onKeyDown={closeOnEscape(loses ? () => say(NOT_SAVED) : onClose)}
          onInput={() => setTouched(true)}
        >
          <header className="dialog-head">
            <Radix.Title className="dialog-title">{title}</Radix.Title>
            <Radix.Close className="button button-quiet button-icon" aria-label="Close">
              <Icon name="close" />
            </Radix.Close>
          </header>
          <div className="dialog-body">{children}</div>
          {foot !== undefined && <footer className="dialog-foot">{foot}</footer>}
          <div className="dialog-messages" ref={holdMessages} />
        </Radix.Content>
      </Radix.Portal>
    </Radix.Root>
  );
}

type FormDialogProps = Omit<DialogProps, 'foot'> & {
  /** Ties the button at the foot to the form in the body. */
  readonly formId: string;
  readonly onSave: () => Promise<void>;
  readonly saveLabel?: string;
  /** Stands beside the buttons. */
  readonly note?: ReactNode;
  /** Stands above the fields. */
  readonly before?: ReactNode;
};

/** A dialog that is one form: Enter in a field saves like the button does. What is wrong is said by the fields. */
export function FormDialog(props: FormDialogProps) {
  const { formId, onSave, saveLabel = 'Save', note, before, children, ...frame } = props;
  return (
    <DialogFrame
      {...frame}
      foot={
        <>
          {note}
          <button type="button" className="button" onClick={frame.onClose}>
            Cancel
          </button>
          <button type="submit" form={formId} className="button button-main">
            {saveLabel}
          </button>
        </>
      }
    >
      {before}
      <form
        id={formId}
        className="form"
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          void onSave();
        }}
      >
        {children}
      </form>
    </DialogFrame>
  );
}
