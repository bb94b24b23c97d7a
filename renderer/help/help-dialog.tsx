import { COMMANDS } from '../state/commands.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { Cautions } from '../ui/bits.tsx';
import { DialogFrame } from '../ui/dialog.tsx';
import { CAUTIONS } from '../words.ts';

export function HelpDialog() {
  const { open } = useModel();
  const info = useDaybook((state) => state.info);
  return (
    <DialogFrame title="Help and cautions" fleeting wide onClose={() => open(null)}>
      <div className="help">
        <Cautions title="Handling a stylus" lines={CAUTIONS.handling} />
        <Cautions title="Cleaning" lines={CAUTIONS.cleaning} open={false} />
        <Cautions title="Set-up and mains" lines={CAUTIONS.setUp} open={false} />
        <h3>The short way</h3>
        <ol>
          <li>Start a stylus and add a picture of its tip: front view, the scale if you know it.</li>
          <li>Log what you play, in whatever unit you have.</li>
          <li>After half a year add a picture of the same view and compare it with the baseline.</li>
          <li>Read the numbers with their uncertainty, look at the pictures, write down what you decide.</li>
        </ol>
        <h3>What a good picture needs</h3>
        <ul>
          <li>A clean tip: dust is measured as shape.</li>
          <li>
            The same view as the baseline, within 2°, sharp, not over-exposed, the whole tip inside the frame
            with some of the shank.
          </li>
          <li>The same microscope, frame size, zoom and focus, or its own scale.</li>
        </ul>
        <h3>How to read the numbers</h3>
        <p>
          ± is the expanded uncertainty: about 95 in 100 such intervals hold the true value. “Not detected,
          below 6 µm” means that a flat could be there unseen up to that width; it does not mean none.
          Accuracy has been proved on rendered pictures; on real styli only the repeatability is known so far.
        </p>
        <h3>Shortcuts</h3>
        <table>
          <tbody>
            {COMMANDS.filter((command) => command.shortcut !== undefined).map((command) => (
              <tr key={command.id}>
                <th scope="row">{command.title}</th>
                <td>
                  <kbd>{command.shortcut?.label}</kbd>
                </td>
              </tr>
            ))}
            <tr>
              <th scope="row">On the bench, outside of fields</th>
              <td>
                <kbd>1</kbd> to <kbd>6</kbd> way of looking
              </td>
            </tr>
            <tr>
              <th scope="row">With the stage in focus</th>
              <td>
                <kbd>+</kbd> <kbd>−</kbd> size, arrows move, <kbd>[</kbd> <kbd>]</kbd> turn, <kbd>0</kbd> fit,{' '}
                <kbd>Space</kbd> stop or start taking turns
              </td>
            </tr>
          </tbody>
        </table>
        {info !== null && (
          <p className="hint">
            {`Version ${info.version}, engine ${info.engineVersion}. The collection lies in ${info.collectionFolder}.`}
          </p>
        )}
      </div>
    </DialogFrame>
  );
}
