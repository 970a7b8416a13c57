/**
 * The Train place: lessons, free running of scenarios, the instructor's
 * panel, debriefs and records. The simulator speaks the line protocol as a
 * bench does; everything behind it is the real thing.
 */
import type { ReactNode } from 'react';
import { addressOf } from '../app/places.ts';
import { DebriefView } from './debrief-view.tsx';
import { FreeView } from './free-view.tsx';
import { InstructorView } from './instructor-view.tsx';
import { LessonsView } from './lessons-view.tsx';
import { RecordsView } from './records-view.tsx';
import './train.css';

const views = [
  { id: 'lessons', title: 'Lessons' },
  { id: 'free', title: 'Free running' },
  { id: 'instructor', title: 'Instructor' },
  { id: 'records', title: 'Records' },
] as const;

export function TrainPlace({ rest }: { readonly rest: readonly string[] }) {
  const [view = 'lessons', session] = rest;
  return (
    <div className="train-place" data-testid="train">
      <header className="train-head">
        <h1>
          Train
          <span className="frame-small train-frame" data-provenance="SIMULATED">
            SIMULATED
          </span>
        </h1>
        <nav className="train-nav" aria-label="Parts of Train">
          {views.map((each) => (
            <a
              key={each.id}
              href={each.id === 'lessons' ? addressOf('train') : addressOf('train', each.id)}
              aria-current={each.id === (view === 'debrief' ? 'records' : view) ? 'page' : undefined}
              data-testid={`train-${each.id}`}
            >
              {each.title}
            </a>
          ))}
        </nav>
        <p className="train-lead">
          No engine runs. What is learnt here about faults is true of this model, not of your engine.
        </p>
      </header>
      <div className="train-body">{partOf(view, session)}</div>
    </div>
  );
}

function partOf(view: string, session: string | undefined): ReactNode {
  switch (view) {
    case 'free':
      return <FreeView />;
    case 'instructor':
      return <InstructorView />;
    case 'records':
      return <RecordsView />;
    case 'debrief':
      return session === undefined ? <RecordsView /> : <DebriefView key={session} session={session} />;
    default:
      return <LessonsView />;
  }
}
