/** The serial line falls silent with the engine running: nothing sent from here may arrive. */
import type { Lesson } from '../lesson.ts';
import { commonAdvice, ignitionOff, stopOpened, throttleClosed } from './common.ts';

export const linkLostLesson: Lesson = {
  id: 'link-lost',
  version: 1,
  title: 'The link is lost',
  summary: 'Every value goes old at once. The stand, not the screen, stops the engine.',
  brief: [
    'The engine runs at half throttle, warm and steady, worked by a person at the stand whom you can speak to.',
    'When the line falls silent, nothing on the screen is true any more and nothing sent from here may arrive. The hard-wired stop circuit is at the stand, in the hands of that person. What you can ask for stands in the strip.',
  ],
  task: 'Watch the run at half throttle, and answer what comes.',
  minutes: 3,
  scenario: 'half-throttle',
  seed: 41,
  modes: ['guided', 'practice', 'assessment'],
  goals: [
    {
      id: 'called',
      words: 'The stop circuit was opened at the stand',
      reached: { is: 'done', what: stopOpened, after: 'silent' },
    },
    {
      id: 'answered',
      words: 'The steps of the advisory are gone through',
      reached: { is: 'advisory', cause: 'link-lost', change: 'completed' },
    },
  ],
  steps: [
    {
      id: 'watch',
      says: 'Watch the board.',
      why: 'Half throttle, all steady.',
      done: { is: 'alarm', rules: ['link'] },
      hint: { after_s: 50, says: 'It comes within a minute.' },
    },
    {
      id: 'call',
      says: 'Press “Open the stop circuit” here at the right.',
      why: 'Every value is old: it is the person at the stand who stops the engine, by the hard-wired circuit.',
      control: 'hand-stop-circuit',
      done: { is: 'done', what: stopOpened, after: 'silent' },
      hint: { after_s: 6, says: 'Commands from here may not arrive. Ask for it at the stand.' },
    },
    {
      id: 'confirm',
      says: 'Confirm the steps in the red band, one by one: press “Done” or the key C.',
      why: 'Only eyes can say that the propeller stands.',
      control: 'confirm-step',
      done: { is: 'advisory', cause: 'link-lost', change: 'completed' },
      hint: { after_s: 30, says: 'The solid button in the band confirms the step that is due.' },
    },
  ],
  events: [
    {
      id: 'silent',
      when: { is: 'run-state', states: ['running'] },
      after_s: [15, 40],
      does: { fault: 'link-drop', on: true, options: { for_s: 45 } },
    },
  ],
  expectations: [
    {
      id: 'lost',
      title: 'The line is silent with the engine running',
      sees: 'All values grow old together and are struck out; the red band: Link lost with the engine running.',
      rightAct: 'Have the stop circuit opened at the stand within ten seconds, and see the propeller stopped.',
      event: 'silent',
      shows: { is: 'alarm', rules: ['link'] },
      notice: [
        { act: 'acknowledge', rules: ['link'] },
        { act: 'advisory-step', cause: 'link-lost', step: 'hard-stop' },
        throttleClosed,
        ignitionOff,
      ],
      act: [stopOpened],
      hint: { after_s: 6, says: 'Nothing sent from here may arrive. Who can stop the engine?' },
    },
  ],
  orders: [
    {
      id: 'answer',
      title: 'The answer, in order',
      after: 'silent',
      acts: [
        { words: 'Stop circuit opened at the stand', what: stopOpened },
        { words: 'Propeller seen stopped', what: { act: 'advisory-step', cause: 'link-lost', step: 'seen-stopped' } },
        { words: 'Cause looked for', what: { act: 'advisory-step', cause: 'link-lost', step: 'cable' } },
      ],
    },
  ],
  rules: [
    {
      id: 'notice',
      kind: 'notice',
      expectation: 'lost',
      words: 'Noticed: 20 within 5 s, none after 30 s.',
      points: 20,
      full_s: 5,
      none_s: 30,
    },
    {
      id: 'act',
      kind: 'act',
      expectation: 'lost',
      words: 'Stop circuit called for: 45 within 10 s, none after 40 s.',
      points: 45,
      full_s: 10,
      none_s: 40,
    },
    {
      id: 'order',
      kind: 'order',
      order: 'answer',
      words: 'The answer in order: 15, less 5 for each act out of order or left out.',
      points: 15,
      perSlip: 5,
    },
    { id: 'answered', kind: 'goal', goal: 'answered', words: 'The advisory gone through to its end: 20.', points: 20 },
    {
      id: 'blind',
      kind: 'wrong-act',
      expectation: 'lost',
      what: { act: 'advisory-step', cause: 'link-lost', step: 'seen-stopped' },
      words: 'Confirmed as stopped before anybody had stopped it. Costs 30, and the lesson is not passed.',
      points: 30,
      fails: true,
    },
  ],
  pass: 70,
  end: {
    is: 'all',
    of: [
      { is: 'event', event: 'silent' },
      { is: 'advisory', cause: 'link-lost', change: 'completed' },
    ],
  },
  endHold_s: 2,
  limit_s: 600,
  hands: [{ kind: 'stop-circuit', closed: false }],
  advice: {
    ...commonAdvice,
    notice: 'All values old at once is the link, not the engine; the engine runs on unwatched.',
    act: 'Do not try the screen first. Call the stand: the hard-wired circuit needs no link.',
    order: 'Stop, see it stopped, then look for the cause.',
    answered: 'A link that fails once fails again: find out why before the next start.',
    blind: 'Confirm only what somebody has seen. A band that is ticked through is worth nothing.',
  },
};
