/** Before the instructor's panel in an assessment: a word where one was chosen, otherwise a question; both are recorded. */
import { useState } from 'react';
import type { BridgeError } from '../../shared-core/bridge/contract.ts';
import { request } from '../app/bridge-client.ts';
import { signedOn } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Field } from '../ui/field.tsx';
import { Section } from '../ui/section.tsx';

export function PanelGuard({ onOpened }: { readonly onOpened: () => void }) {
  const asksWord = useStream('live', (s) => s.snapshot?.training?.asksWord ?? false);
  const [word, setWord] = useState('');
  const [isAsked, setAsked] = useState(false);
  const [error, setError] = useState<BridgeError | null>(null);
  const open = async (): Promise<void> => {
    const opened = await request('train.seat', { by: signedOn(), ...(asksWord ? { word } : {}) });
    setWord('');
    if (opened.ok) onOpened();
    else setError(opened.error);
  };
  return (
    <div className="train-whole">
      <Section title="The instructor's panel is shut" data-testid="panel-guard">
        <form
          className="panel-guard"
          onSubmit={(e) => {
            e.preventDefault();
            if (asksWord || isAsked) void open();
            else setAsked(true);
          }}
        >
          <p>
            An assessment is under way, and the panel shows what is wrong at the stand. Whoever opens it on this page is
            named in the record, with the time. This keeps an honest trainee from looking; it is no security.
          </p>
          {asksWord && (
            <Field
              label="Instructor's word"
              {...(error === null ? {} : { error: `${error.sentence} ${error.remedy}` })}
            >
              {(ids) => (
                <input
                  {...ids}
                  className="input"
                  type="password"
                  autoComplete="off"
                  value={word}
                  maxLength={60}
                  onChange={(e) => setWord(e.target.value)}
                  data-testid="panel-word"
                />
              )}
            </Field>
          )}
          {isAsked && !asksWord ? (
            <div className="checkpoint-acts">
              <Button type="submit" tone="solid" autoFocus data-testid="panel-confirm">
                I am the instructor: open it
              </Button>
              <Button onClick={() => goTo('run')}>Leave it, to Run</Button>
            </div>
          ) : (
            <Button type="submit" disabled={asksWord && word === ''} data-testid="panel-open">
              {asksWord ? 'Open the panel' : 'Open the panel…'}
            </Button>
          )}
        </form>
      </Section>
    </div>
  );
}
