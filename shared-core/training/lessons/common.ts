/** What several lessons share: head alarms, running at idle, the standing scoring rules. */
import type { ActPattern, Condition, ScoringRule } from '../lesson.ts';

export const headRules = ['cht1-caution', 'cht2-caution', 'cht1-abort', 'cht2-abort', 'cht-rise'] as const;
export const sensorRules = ['head-sensors'] as const;

export const throttleClosed: ActPattern = { act: 'command', name: 'THROTTLE', atMost_percent: 2 };
export const ignitionOff: ActPattern = { act: 'command', name: 'IGNITION', on: false };
export const stopOpened: ActPattern = { act: 'hand', kind: 'stop-circuit', closed: false };

/** The servo and the engine have followed the lever. */
export const atIdle: Condition = {
  is: 'all',
  of: [
    { is: 'channel', channel: 'throttle', below: 5 },
    { is: 'channel', channel: 'rpm', below: 2600 },
  ],
};
export const atRest: Condition = { is: 'run-state', states: ['standing', 'cooling'] };

/** The demo rig's plan for cooling down calls 130 °C safe. */
export const SAFE_CUT_degC = 130;

export const starterRule: ScoringRule = {
  id: 'starter',
  kind: 'starter',
  words:
    'Starter: at most 8 s in one attempt, then 2 min of rest, never against a running engine. Each abuse costs 20, and the lesson is not passed.',
  points: 60,
  perAbuse: 20,
  fails: true,
};

export const hotCutRule: ScoringRule = {
  id: 'hot-cut',
  kind: 'hot-cut',
  words:
    'Ignition: not cut with a head above 130 °C that is not falling, unless an advisory orders it. Costs 30, and the lesson is not passed.',
  points: 30,
  above_degC: SAFE_CUT_degC,
  fails: true,
};

export const abortLimitsRule: ScoringRule = {
  id: 'limits',
  kind: 'limits',
  words: 'Beyond an abort limit: each second after the first 3 s costs 2, at most 20.',
  points: 20,
  levels: ['abort'],
  free_s: 3,
  perSecond: 2,
};

export const commonAdvice: Readonly<Record<string, string>> = {
  starter:
    'Count to eight with the starter in hand and let go yourself. The workbench lets go too, but the local button of a stand does not. Then rest it two minutes and look for the cause.',
  'hot-cut':
    'Close the throttle first and idle until the heads are falling, at best below 130 °C. Without fuel and fan the heat soaks into the piston.',
  limits: 'Act on the caution: it comes before the limit so that there is time to act.',
};
