/** Events of a lesson and of the simulated stand as lines of the event list. Pure. */
import { lessonById } from '../../shared-core/training/lesson-book.ts';
import { handWord, type TrainingEvent } from '../../shared-core/training/training-event.ts';
import { formatClock } from '../ui/format.ts';
import type { Told } from './event-words.ts';

export function trainingLine(event: TrainingEvent): Told {
  const group = 'operator';
  switch (event.what) {
    case 'lesson-started':
    case 'lesson-resumed': {
      const { lesson, mode, trainee } = event.head;
      const title = lessonById(lesson)?.title ?? lesson;
      const begun = event.what === 'lesson-started' ? 'Lesson begins' : 'Lesson goes on';
      return { group, title: `${begun}: ${title}`, detail: mode, by: trainee };
    }
    case 'lesson-stopped':
      return { group, title: 'Lesson ended early', by: event.by };
    case 'fault':
      return { group, title: `Simulated fault ${event.on ? 'in' : 'cleared'}: ${event.title}`, by: event.by };
    case 'hand':
      return {
        group,
        title: `At the simulated stand: ${handWord(event.act)}`,
        detail: event.tookEffect ? '' : 'no effect',
        by: event.by,
      };
    case 'instructor':
      return {
        group,
        title: `Instructor's panel ${event.isOpened ? 'opened' : 'not opened: wrong word'}`,
        detail: event.withWord ? '' : 'no word was chosen',
        by: event.by,
      };
    case 'starter-refused':
      return { group, title: 'Starter refused', detail: `${Math.ceil(event.restLeft_s)} s of rest owed`, by: event.by };
    case 'paused':
      return { group, title: 'Simulation paused' };
    case 'resumed':
      return { group, title: 'Simulation resumed' };
    case 'speed':
      return { group, title: `Simulation at ${event.speed}×` };
    case 'checkpoint':
      return { group, title: `Checkpoint: ${event.name}` };
    case 'rewound':
      return { group, title: `Rewound to ${formatClock(event.to_s)}`, detail: `from session ${event.from}` };
  }
}
