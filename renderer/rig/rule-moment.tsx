/** The limit that is edited against the bench as it is now, five times a second. */
import { findChannel } from '../../shared-core/channels/usual-keys.ts';
import { standingNow } from '../../shared-core/limits/rule-standing.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import { sessionNow_us, streamStore, useStream } from '../app/stream-store.ts';
import { fieldsOf, missingNumbers, unitOf } from './rule-fields.ts';
import { momentOf, previewWords } from './rule-preview.ts';

export function RuleMoment({ rule }: { readonly rule: LimitRule }) {
  useStream('live', (s) => s.beat);
  const state = streamStore('live').getState();
  const moment = momentOf(state, sessionNow_us(state, 'live', performance.now()));
  if (moment === null) return <p className="muted">No bench is heard: there are no values to hold it against.</p>;
  if (missingNumbers(rule).length > 0) {
    return <p className="muted">Once its numbers are there, this says what it would do now.</p>;
  }
  const standing = standingNow(rule, moment);
  // The figure that is compared has the unit of the trip.
  const trip = fieldsOf[rule.kind].find((spec) => spec.as === 'number');
  const unit = trip?.as === 'number' && rule.kind !== 'recorder' ? unitOf(rule, trip.unit, state.byKey) : 'MB';
  const channel = standing.subject === null ? undefined : findChannel(state.layout?.channels ?? [], standing.subject);
  const words = previewWords(rule, standing, unitFor(rule, unit, channel?.unit), channel?.decimals ?? 1);
  return (
    <div
      className="rule-moment"
      data-testid="rule-moment"
      data-verdict={standing.verdict}
      data-resting={standing.isResting}
    >
      <p className="rule-verdict">
        <b>{words.verdict}</b>
        {channel !== undefined && 'channels' in rule ? ` · ${channel.label}` : ''}
      </p>
      <p className="muted">{words.detail}</p>
    </div>
  );
}

/** Kinds whose first number is not what the present figure is compared with. */
function unitFor(rule: LimitRule, unit: string, ofChannel: string | undefined): string {
  switch (rule.kind) {
    case 'rate':
    case 'range':
    case 'timed-band':
      return ofChannel ?? '';
    case 'deviation':
      return ofChannel === '°C' ? 'K' : (ofChannel ?? '');
    default:
      return unit;
  }
}
