/** What can be broken on the simulated stand. Faults that are on are marked; each says what it does. */
import { useState } from 'react';
import type { FaultInfo } from '../../shared-core/bridge/contract.ts';
import { ask } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { Section } from '../ui/section.tsx';
import { listedFaults } from './fault-order.ts';

const none: readonly string[] = [];

export function FaultPanel({ faults }: { readonly faults: readonly FaultInfo[] }) {
  const active = useStream('live', (s) => s.snapshot?.simulator?.activeFaults ?? none);
  const isRunning = useStream('live', (s) => s.snapshot?.simulator != null);
  const [busy, setBusy] = useState<string | null>(null);
  const [text, setText] = useState('');
  const { isIn, others } = listedFaults(faults, active, text);
  const turn = async (fault: string, on: boolean): Promise<void> => {
    setBusy(fault);
    await ask('sim.fault', { fault, on });
    setBusy(null);
  };
  return (
    <Section
      title="Faults"
      lead={
        isRunning
          ? 'Take effect at once, and stay until cleared or the scenario is started anew. Better still: let somebody else choose.'
          : 'Start a scenario first; then faults can be put in.'
      }
      aside={
        active.length > 0 && (
          <span className="active-count" data-testid="active-faults">
            {active.length === 1 ? '1 fault in' : `${active.length} faults in`}
          </span>
        )
      }
      data-testid="faults-panel"
    >
      <div className="faults-filter">
        <label className="sr-only" htmlFor="fault-text">
          Find a fault
        </label>
        <input
          id="fault-text"
          className="input"
          type="search"
          placeholder={`Find among ${faults.length} faults: fuel, sensor, line`}
          value={text}
          onChange={(e) => setText(e.target.value)}
          data-testid="fault-text"
        />
      </div>
      <ul className="faults-list">
        {[...isIn, ...others].map((fault) => {
          const isOn = active.includes(fault.id);
          return (
            <li key={fault.id} data-on={isOn} data-testid={`sim-fault-${fault.id}`}>
              <div>
                <b className="fault-title">{fault.title}</b>
                {isOn && <span className="now-word">in</span>}
                <p className="muted">{fault.effect}</p>
              </div>
              <Button
                small
                disabled={!isRunning || busy === fault.id}
                aria-pressed={isOn}
                aria-label={isOn ? `Clear: ${fault.title}` : `Put in: ${fault.title}`}
                onClick={() => turn(fault.id, !isOn)}
                data-testid={`toggle-${fault.id}`}
              >
                {isOn ? 'Clear' : 'Put in'}
              </Button>
            </li>
          );
        })}
      </ul>
      {others.length === 0 && text !== '' && <p className="muted">No other fault fits these words.</p>}
    </Section>
  );
}
