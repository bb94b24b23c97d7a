import {
  ADVICE_WORDS,
  reasonsOf,
  retiredText,
  RULE_STATE_WORDS,
  type GivenAdvice,
  type StylusPage,
} from '../../shared/index.ts';
import { formatDate } from '../format.ts';
import { writeRoute } from '../state/route.ts';
import { Icon, type IconName } from '../ui/icons.tsx';
import { Causes } from './causes.tsx';
import { useListening } from './use-listening.ts';

const OUTCOME_ICONS: Readonly<Record<GivenAdvice['outcome'], IconName>> = {
  'take-off': 'warn',
  'order-one': 'swap',
  'look-again': 'search',
  'clean-and-look': 'brush',
  'check-set-up': 'tool',
  'cannot-tell': 'help',
  'play-on': 'clock',
};

/** What the evidence comes to, and every rule behind it. */
export function AdvicePanel(props: { readonly page: StylusPage; readonly advice: GivenAdvice | null }) {
  const { page, advice } = props;
  const listening = useListening(page.stylus.id);
  if (advice === null || listening === null) return <p className="hint">Asking the rules…</p>;
  const open = listening.causes.filter((one) => one.answer === 'not-checked' || one.answer === 'found');
  return (
    <div className="advice">
      {page.stylus.retired === null ? <AdviceHead advice={advice} /> : <p>{retiredText(advice)}</p>}
      <Because advice={advice} />
      <details open={advice.ruleOutFirst.length > 0}>
        <summary>
          {open.length === 0
            ? 'Other causes: all ruled out'
            : `Rule out first: ${open.length} of ${listening.causes.length} other causes are open`}
        </summary>
        <Causes stylusId={page.stylus.id} causes={listening.causes} />
      </details>
      <AllRules advice={advice} />
      <p>
        <a href={writeRoute({ screen: 'listening', stylusId: page.stylus.id })}>
          Listening: passages, test bands, recordings
        </a>
      </p>
    </div>
  );
}

function AdviceHead({ advice }: { readonly advice: GivenAdvice }) {
  const { outcome, sentence, wall, wallInGroove, look } = advice;
  return (
    <div className={`advice-head advice-${outcome}`}>
      <p className="advice-outcome">
        <Icon name={OUTCOME_ICONS[outcome]} />
        <strong>{ADVICE_WORDS[outcome]}</strong>
      </p>
      <p>{sentence}</p>
      {wall !== null && (
        <p>
          {wallInGroove === null
            ? `The ${wall} wall in the picture wears more. Say at the picture whether the camera mirrors; then it is known which wall of the groove that is.`
            : `The ${wall} wall in the picture wears more: the ${wallInGroove.side} wall of the groove, the ${wallInGroove.channel} channel.`}
        </p>
      )}
      {outcome !== 'take-off' && (
        <p className="hint">
          {`Next look ${look.overdue ? 'was due' : 'by'} ${formatDate(look.date)}. ${look.why}`}
        </p>
      )}
    </div>
  );
}

/** What speaks, the most urgent first; then what nobody can tell. */
function Because({ advice }: { readonly advice: GivenAdvice }) {
  const speaking = reasonsOf(advice);
  return (
    <>
      {speaking.length > 0 && (
        <>
          <h3>Because</h3>
          <ul className="advice-because">
            {speaking.map((step) => (
              <li key={step.rule}>
                {step.sentence}
                <span className="hint">{` ${ADVICE_WORDS[step.outcome]}. Source: ${step.source}.`}</span>
              </li>
            ))}
          </ul>
        </>
      )}
      {advice.unknown.length > 0 && (
        <>
          <h3>What nobody can tell from this</h3>
          <ul>
            {advice.unknown.map((sentence) => (
              <li key={sentence}>{sentence}</li>
            ))}
          </ul>
        </>
      )}
    </>
  );
}

function AllRules({ advice }: { readonly advice: GivenAdvice }) {
  return (
    <details>
      <summary>{`All ${advice.steps.length} rules, with what went in`}</summary>
      <ul className="rules">
        {advice.steps.map((step) => (
          <li key={step.rule} className={`rule-${step.state}`}>
            <p>
              <strong>{ADVICE_WORDS[step.outcome]}</strong>
              <span className="tag">{RULE_STATE_WORDS[step.state]}</span>
              {step.sentence}
            </p>
            <p className="hint">
              {`What went in: ${step.inputs.map((one) => `${one.name}: ${one.value}`).join('; ')}. Source: ${step.source}.`}
            </p>
          </li>
        ))}
      </ul>
    </details>
  );
}
