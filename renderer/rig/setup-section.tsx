/** Commands for setting up: tares, meter zero, totaliser. They need no live outputs; each shows how the bench answered. */
import type { CommandRecord } from '../../shared-core/bridge/contract.ts';
import type { BenchCommand } from '../../shared-core/line/messages.ts';
import { command } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatAge, formatQuantity } from '../ui/format.ts';
import { Section } from '../ui/section.tsx';

type SetupName = 'TARE-THRUST' | 'TARE-TORQUE' | 'ZERO-FUEL' | 'RESET-FUEL';

interface SetupAct {
  readonly name: SetupName;
  readonly title: string;
  readonly means: string;
  /** The channel that it acts on, shown beside it. */
  readonly channel: string;
}

const acts: readonly SetupAct[] = [
  {
    name: 'TARE-THRUST',
    title: 'Tare thrust',
    means: 'Takes the present thrust as zero. Shaft at rest, nobody leaning on the stand.',
    channel: 'thrust',
  },
  {
    name: 'TARE-TORQUE',
    title: 'Tare torque',
    means: 'Takes the present torque as zero. Shaft at rest.',
    channel: 'torque',
  },
  {
    name: 'ZERO-FUEL',
    title: 'Zero fuel meter',
    means: 'Takes the present flow as no flow. Shaft at rest, tank valve shut.',
    channel: 'fuel_flow',
  },
  {
    name: 'RESET-FUEL',
    title: 'Reset fuel totaliser',
    means: 'Sets the totaliser to zero. The session keeps what was counted before.',
    channel: 'fuel_total',
  },
];

const outcomeWords: Readonly<Record<CommandRecord['outcome'], string>> = {
  sent: 'Sent, waiting for the answer',
  accepted: 'Done',
  refused: 'Refused',
  unanswered: 'The bench did not answer',
};

export function SetupSection() {
  const isUp = useStream('live', (s) => s.snapshot?.source.state === 'open');
  return (
    <Section title="Setting up" lead="Carried out by the bench, with outputs locked or live." data-testid="rig-setup">
      <ul className="setup">
        {acts.map((each) => (
          <li key={each.name}>
            <Button
              onClick={() => command({ name: each.name } satisfies BenchCommand)}
              disabled={!isUp}
              data-testid={`setup-${each.name}`}
            >
              {each.title}
            </Button>
            <div>
              <p className="muted">{each.means}</p>
              <Present channel={each.channel} />
              <Outcome name={each.name} />
            </div>
          </li>
        ))}
      </ul>
      {!isUp && <p className="muted">Connect a bench or start the simulator to use them.</p>}
    </Section>
  );
}

function Present({ channel: key }: { readonly channel: string }) {
  const channel = useStream('live', (s) => s.byKey.get(key));
  const value = useStream('live', (s) => {
    const at = s.byKey.get(key)?.ordinal ?? -1;
    // Read with the beat, so that it turns at most five times a second.
    return s.beat >= 0 && s.present?.quality[at] === 0 ? (s.present.value[at] ?? NaN) : NaN;
  });
  if (!channel) return null;
  return <p>Now {formatQuantity(value, channel.decimals, channel.unit)}</p>;
}

function Outcome({ name }: { readonly name: SetupName }) {
  const record = useStream(
    'live',
    (s) => s.snapshot?.outputs.commands.findLast((c) => c.command.name === name) ?? null,
  );
  const now_us = useStream('live', (s) => s.snapshot?.now_us ?? 0);
  if (record === null) return null;
  const age = formatAge(Math.max(0, Math.floor((now_us - record.sentAt_us) / 1e6)));
  return (
    <p data-testid={`outcome-${name}`} data-outcome={record.outcome} role="status">
      <b>{outcomeWords[record.outcome]}</b>
      {record.reason !== '' && `: ${record.reason}`}
      <span className="muted">
        {' '}
        by {record.by}, {age} ago
      </span>
    </p>
  );
}
