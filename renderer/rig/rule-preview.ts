/** A limit against the values of this moment, in words: what the editor shows beside the form. Pure, but for `momentOf`. */
import { findChannel } from '../../shared-core/channels/usual-keys.ts';
import type { Moment, RuleStanding } from '../../shared-core/limits/rule-standing.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import { readingOf, STALE_AFTER_US } from '../app/reading.ts';
import { runStateWords } from '../app/run-state-words.ts';
import type { StreamState } from '../app/stream-store.ts';
import { formatQuantity } from '../ui/format.ts';
import { delayWords, durationWords } from './rule-words.ts';

/** What is so on the live bench; null before its channels are known. */
export function momentOf(state: StreamState, now_us: number): Moment | null {
  const { layout, snapshot, present } = state;
  if (layout === null || snapshot === null) return null;
  return {
    sampleOf(key) {
      const channel = findChannel(layout.channels, key);
      if (channel === undefined) return null;
      const staleAfter_us = state.staleByKey_us.get(channel.key) ?? STALE_AFTER_US;
      const reading = readingOf(present, channel.ordinal, now_us, staleAfter_us, undefined);
      if (reading.state === 'absent') return null;
      return reading.state === 'good' ? reading.value : NaN;
    },
    rangeOf(key) {
      const channel = findChannel(layout.channels, key);
      return { low: channel?.low ?? NaN, high: channel?.high ?? NaN };
    },
    inputOf: (key) => snapshot.inputs.find((each) => each.key === key)?.state ?? null,
    state: snapshot.run.state,
    state_s: Math.max(0, (now_us - snapshot.run.since_us) / 1e6),
    silentFor_ms: snapshot.link.silentFor_ms,
    drift_ppm: snapshot.link.drift_ppm,
    recorder: snapshot.session === null ? null : snapshot.recorder,
    hours: snapshot.hours,
  };
}

export interface PreviewWords {
  readonly verdict: string;
  readonly detail: string;
}

/** @param unit of the trip, as `unitOf` gives it @param decimals as the channel is shown */
export function previewWords(rule: LimitRule, standing: RuleStanding, unit: string, decimals: number): PreviewWords {
  const value = standing.value === null || Number.isNaN(standing.value) ? null : standing.value;
  const now = value === null ? '' : `Now ${formatQuantity(value, decimals, unit)}`;
  const wait = rule.kind !== 'input' && 'onDelay_ms' in rule && rule.onDelay_ms > 0 ? rule.onDelay_ms : 0;
  const room = standing.room === null ? '' : formatQuantity(Math.abs(standing.room), decimals, unit);
  const told = standingWords(standing, now, room, wait);
  if (!standing.isResting) return told;
  const states = rule.when.map((each) => runStateWords[each].toLowerCase()).join(', ');
  const wants = rule.whenFor_s ? `${states}, once for ${durationWords(rule.whenFor_s)}` : states;
  return {
    verdict: 'Not judged now',
    detail: `It is judged when ${wants}. ${told.verdict === 'Would be tripped now' ? 'Its condition holds all the same. ' : ''}${told.detail}`,
  };
}

function standingWords(standing: RuleStanding, now: string, room: string, wait_ms: number): PreviewWords {
  const after = wait_ms > 0 ? `, once it has held for ${delayWords(wait_ms)}` : '';
  switch (standing.verdict) {
    case 'beyond':
      if (now === '') {
        const why =
          standing.value === null ? 'Its condition holds' : 'It has no good value, which counts as over the limit';
        return { verdict: 'Would be tripped now', detail: `${why}${after}.` };
      }
      return {
        verdict: 'Would be tripped now',
        detail: `${now}${room === '' ? '' : `, ${room} beyond its trip`}${after}.`,
      };
    case 'between':
      return {
        verdict: 'Inside its deadband',
        detail: `${now}, ${room} from its trip. A tripped one would stay so, one that is not would not trip.`,
      };
    case 'inside':
      return {
        verdict: 'Would not trip now',
        detail:
          now === ''
            ? 'Nothing is wrong with what it watches.'
            : `${now}${room === '' ? '' : `, ${room} from its trip`}.`,
      };
    case 'needs-time':
      return {
        verdict: 'One moment cannot tell',
        detail: `${now === '' ? '' : `${now}. `}It is about time: try it on recordings, in Review under Back-test.`,
      };
    case 'nothing':
      return { verdict: 'Not judged on this bench', detail: 'Nothing that it watches has sent a value here.' };
  }
}
