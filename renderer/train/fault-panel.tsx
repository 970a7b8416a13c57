/** What can be broken on the simulated stand. Faults that are in are marked; each says what it does. */
import { useState } from 'react';
import type { FaultInfo, InstructorView } from '../../shared-core/bridge/contract.ts';
import { ask } from '../app/bridge-client.ts';
import { signedOn } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatNumber } from '../ui/format.ts';
import { Section } from '../ui/section.tsx';
import { FaultOptions } from './fault-options.tsx';
import { listedFaults } from './fault-order.ts';

export interface FaultPanelProps {
  readonly faults: readonly FaultInfo[];
  readonly active: readonly string[];
  /** How far each has come on; not told where only switching is asked. */
  readonly levels?: InstructorView['faults'];
  readonly onChange?: () => void;
  /** Severity and the rest can be set before a fault goes in; its trace is told. */
  readonly withOptions?: boolean;
}

function leadOf(isRunning: boolean, isInstructor: boolean): string {
  if (!isRunning) return 'Start a lesson or a scenario first; then faults can be put in.';
  return isInstructor
    ? 'Take effect at once or as their options say, together with those that are in, and stay until cleared.'
    : 'Take effect at once, and stay until cleared or the scenario is started anew. Better still: let somebody else choose.';
}

export function FaultPanel({ faults, active, levels, onChange, withOptions = false }: FaultPanelProps) {
  const isRunning = useStream('live', (s) => s.snapshot?.simulator != null);
  const [busy, setBusy] = useState<string | null>(null);
  const [text, setText] = useState('');
  const [open, setOpen] = useState<string | null>(null);
  const { isIn, others } = listedFaults(faults, active, text);
  const turn = async (fault: string, on: boolean, options?: Record<string, number>): Promise<void> => {
    setBusy(fault);
    await ask('sim.fault', { fault, on, by: signedOn(), ...(options === undefined ? {} : { options }) });
    setBusy(null);
    setOpen(null);
    onChange?.();
  };
  return (
    <Section
      title="Faults"
      lead={leadOf(isRunning, withOptions)}
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
          const level = levels?.find((each) => each.id === fault.id)?.level;
          return (
            <li key={fault.id} data-on={isOn} data-testid={`sim-fault-${fault.id}`}>
              <div className="fault-words">
                <b className="fault-title">{fault.title}</b>
                {isOn && (
                  <span className="now-word">
                    {level === undefined ? 'in' : `in, ${formatNumber(100 * level, 0)} %`}
                  </span>
                )}
                <p className="muted">{fault.effect}</p>
                {withOptions && open === fault.id && (
                  <FaultOptions fault={fault} onPutIn={(options) => void turn(fault.id, true, options)} />
                )}
              </div>
              <div className="fault-acts">
                {withOptions && !isOn && (
                  <Button
                    small
                    tone="quiet"
                    disabled={!isRunning}
                    aria-expanded={open === fault.id}
                    aria-label={`Options of: ${fault.title}`}
                    onClick={() => setOpen(open === fault.id ? null : fault.id)}
                    data-testid={`options-${fault.id}`}
                  >
                    Options
                  </Button>
                )}
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
              </div>
            </li>
          );
        })}
      </ul>
      {others.length === 0 && text !== '' && <p className="muted">No other fault fits these words.</p>}
    </Section>
  );
}
