/** The discrete inputs in their own words: stop circuit, cage, ignition, starter, supplies. */
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';
import { useStream } from '../app/stream-store.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { inputTitle, inputWord } from './input-words.ts';

const none: readonly DiscreteInput[] = [];

export function Inputs({ stream }: { readonly stream: StreamName }) {
  const inputs = useStream(stream, (s) => s.snapshot?.inputs ?? none);
  const sights = useStream(stream, (s) => s.sights);
  if (inputs.length === 0) return null;
  return (
    <section className="value-group" aria-label="Inputs">
      <h2>Inputs</h2>
      <dl className="input-lines">
        {inputs.map((input) => {
          const sight = sights.get(input.key);
          return (
            <div key={input.key} data-testid={`input-${input.key}`} data-state={input.state}>
              <dt>{inputTitle(input.key)}</dt>
              <dd>
                {sight && <LevelMark level={sight.level} size={16} isBlinking={sight.isBlinking} />}
                {inputWord(input)}
              </dd>
            </div>
          );
        })}
      </dl>
    </section>
  );
}
