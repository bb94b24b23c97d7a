import { Dialog as Radix } from 'radix-ui';
import type { ReactNode } from 'react';
import { Icon } from './icons.tsx';

type DialogProps = {
  readonly title: string;
  readonly wide?: boolean;
  /** As wide as the window allows, for a table. */
  readonly full?: boolean;
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

export function DialogFrame({ title, wide = false, full = false, onClose, children, foot }: DialogProps) {
  return (
    <Radix.Root open onOpenChange={(open) => !open && onClose()}>
      <Radix.Portal>
        <Radix.Overlay className="veil" />
        <Radix.Content
          className={full ? 'dialog dialog-full' : wide ? 'dialog dialog-wide' : 'dialog'}
          aria-describedby={undefined}
          onOpenAutoFocus={focusFirstField}
        >
          <header className="dialog-head">
            <Radix.Title className="dialog-title">{title}</Radix.Title>
            <Radix.Close className="button button-quiet button-icon" aria-label="Close">
              <Icon name="close" />
            </Radix.Close>
          </header>
          <div className="dialog-body">{children}</div>
          {foot !== undefined && <footer className="dialog-foot">{foot}</footer>}
        </Radix.Content>
      </Radix.Portal>
    </Radix.Root>
  );
}
