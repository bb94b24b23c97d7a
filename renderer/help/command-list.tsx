import { useState, type KeyboardEvent } from 'react';
import { findCommands, type Command } from '../state/commands.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { DialogFrame } from '../ui/dialog.tsx';

/** Everything that can be done here, found by typing. */
export function CommandList() {
  const model = useModel();
  const state = useDaybook((all) => all);
  const [text, setText] = useState('');
  const [at, setAt] = useState(0);
  const found = findCommands(text, state);
  const current = found[Math.min(at, found.length - 1)];
  const run = (command: Command | undefined): void => {
    if (command === undefined) return;
    model.open(null);
    // After the dialog has gone: a command may open one of its own.
    setTimeout(() => command.run(model), 0);
  };
  const key = (event: KeyboardEvent): void => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step !== undefined)
      setAt((old) => (Math.min(old, found.length - 1) + step + found.length) % found.length);
    else if (event.key === 'Enter') run(current);
    else return;
    event.preventDefault();
  };
  return (
    <DialogFrame title="Command list" fleeting onClose={() => model.open(null)}>
      <input
        className="command-search"
        role="combobox"
        aria-label="Search the commands"
        aria-expanded="true"
        aria-controls="command-options"
        aria-activedescendant={current === undefined ? undefined : `command-${current.id}`}
        value={text}
        onChange={(event) => {
          setText(event.target.value);
          setAt(0);
        }}
        onKeyDown={key}
        autoComplete="off"
      />
      <div className="command-options" id="command-options" role="listbox" aria-label="Commands">
        {found.map((command) => (
          <button
            type="button"
            tabIndex={-1}
            key={command.id}
            id={`command-${command.id}`}
            role="option"
            aria-selected={command === current}
            ref={(element) => {
              if (command === current) element?.scrollIntoView({ block: 'nearest' });
            }}
            onClick={() => run(command)}
          >
            {command.title}
            {command.shortcut !== undefined && <kbd>{command.shortcut.label}</kbd>}
          </button>
        ))}
      </div>
      {found.length === 0 && <p className="hint">No command of this screen has these words.</p>}
    </DialogFrame>
  );
}
