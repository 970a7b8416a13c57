/** The lessons, in the order in which they are best taken. */
import type { Lesson } from './lesson.ts';
import { firstLesson } from './lessons/first-lesson.ts';
import { fuelLesson } from './lessons/fuel.ts';
import { linkLostLesson } from './lessons/link-lost.ts';
import { overspeedLesson } from './lessons/overspeed.ts';
import { sensorLostLesson } from './lessons/sensor-lost.ts';
import { starterLesson } from './lessons/starter.ts';
import { seededShare } from './seeded-share.ts';

export const lessons: readonly Lesson[] = [
  firstLesson,
  starterLesson,
  sensorLostLesson,
  overspeedLesson,
  fuelLesson,
  linkLostLesson,
];

/** In an assessment the lesson can be drawn by lot: nobody at the desk then knows what will come. */
export const BY_LOT = 'by-lot';

export function lessonById(id: string): Lesson | null {
  return lessons.find((each) => each.id === id) ?? null;
}

/** One of the lessons that can be assessed, by a seed. */
export function lessonByLot(seed: number): Lesson {
  const assessed = lessons.filter((each) => each.modes.includes('assessment'));
  const drawn = assessed[Math.floor(seededShare(seed, BY_LOT) * assessed.length)];
  if (drawn === undefined) throw new Error('expected at least one lesson that can be assessed');
  return drawn;
}
