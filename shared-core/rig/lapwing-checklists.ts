/**
 * Checklists and cautions that the demo rig comes with: our own text, common
 * practice, no source. They give way to the maker's manuals, local codes and
 * the site's risk assessment, and each site edits them.
 */
import type { Checklist } from '../program/checklist.ts';

export const lapwingChecklists: readonly Checklist[] = [
  {
    stage: 'mount',
    title: 'Mount',
    items: [
      {
        id: 'lift',
        text: 'Engine lifted by two, or by a hoist at its own lifting points',
        why: 'Not by exhaust, carburettor or propeller: they bend, and the engine falls.',
      },
      {
        id: 'mount-bolts',
        text: 'Mount bolts tightened as the maker says, dampers whole, spring washers or lock nuts in',
        why: 'Vibration finds every bolt that was only nipped up.',
      },
      {
        id: 'stand-firm',
        text: 'Stand level, anchored or ballasted, in the open',
        why: 'It must stand at full thrust and in a gust.',
      },
      {
        id: 'hub-bolts',
        text: 'Propeller bolts tightened in stages, crosswise, to the maker\u2019s torque',
        why: 'Uneven clamping cracks hubs.',
      },
      {
        id: 'propeller-way',
        text: 'Propeller faces the flight direction: the lettered side forward',
        why: 'Mounted the wrong way round it thrusts little and loads the engine.',
      },
      {
        id: 'threadlocker',
        text: 'For endurance runs: threadlocker on mount, exhaust and carburettor bolts, marked with paint',
        why: 'A line of paint shows at a glance what has turned.',
      },
    ],
  },
  {
    stage: 'wire',
    title: 'Wire',
    items: [
      {
        id: 'stop-wired',
        text: 'Stop circuit hard-wired to the ignition, and tried by hand',
        why: 'It must work with this program, the bench and the computer dead.',
        input: { key: 'stop', state: 1 },
      },
      {
        id: 'leads-clear',
        text: 'Leads tied, clear of propeller, exhaust and ignition cable',
        why: 'The propeller winds up what it reaches; sparks disturb sensors.',
      },
      {
        id: 'ground',
        text: 'One common ground, sensors shielded at one end',
        why: 'Two grounds are a loop, and a loop is noise.',
      },
      {
        id: 'battery',
        text: 'Supply above 11.5 V with nothing switched on',
        why: 'A weak battery gives a weak spark, and the engine kicks back.',
        channel: { key: 'supply_volt', is: 'above', value: 11.5 },
      },
      {
        id: 'probes',
        text: 'Each thermocouple proven by a warm hand on its own channel',
        why: 'Two that are swapped blame the wrong cylinder.',
      },
    ],
  },
  {
    stage: 'fuel',
    title: 'Fuel',
    items: [
      {
        id: 'mix-made',
        text: 'Fuel mixed 50:1, or as the maker says, and shaken',
        why: 'Oil is the only lubrication of a two-stroke.',
      },
      {
        id: 'fuel-place',
        text: 'Filled outside, engine cold, no flame near, spills wiped and dry',
        why: 'The vapour is heavier than air and finds the flame.',
      },
      {
        id: 'lines',
        text: 'Fuel lines whole, clipped, filter clean, tank vented',
        why: 'A tank without a vent starves the engine after minutes.',
      },
      {
        id: 'bled',
        text: 'Line bled until no bubble passes the meter',
        why: 'Air reads as flow, and the meter\u2019s zero will not settle.',
      },
    ],
  },
  {
    stage: 'guard',
    title: 'Guard',
    items: [
      {
        id: 'cage-shut',
        text: 'Cage closed, its switch shows it',
        why: 'Nobody reaches into the arc.',
        input: { key: 'cage', state: 1 },
      },
      {
        id: 'ropes',
        text: 'Area roped off, in the plane of the propeller above all',
        why: 'That is where a blade goes.',
      },
      {
        id: 'loose-things',
        text: 'Ground swept: no stones, rags or tools before or behind the propeller',
        why: 'What lies before it goes through it.',
      },
      {
        id: 'extinguisher-tested',
        text: 'Extinguisher and stop circuit tested today, both within reach outside the arc',
        why: 'What was not tried today does not count.',
      },
    ],
  },
  {
    stage: 'before-start',
    title: 'Before the start',
    items: [
      {
        id: 'stop-tested',
        text: 'Stop circuit of the stand tested today',
        why: 'It is the only thing that stops the engine when all else fails.',
        input: { key: 'stop', state: 1 },
      },
      {
        id: 'fuel-shut-off',
        text: 'Fuel shut-off can be reached from outside the cage',
        why: 'Fire, or an engine that runs on.',
      },
      {
        id: 'anchored',
        text: 'Stand level, anchored, in the open air',
        why: 'Thrust tips a loose stand; exhaust gas kills.',
      },
      { id: 'propeller', text: 'Propeller bolts tightened in stages, crosswise', why: 'Uneven clamping cracks hubs.' },
      { id: 'cage', text: 'Cage closed', why: 'Nobody reaches into the arc.', input: { key: 'cage', state: 1 } },
      { id: 'plane', text: 'Nobody in the plane of the propeller', why: 'That is where a blade goes.' },
      { id: 'extinguisher', text: 'Extinguisher at hand, outside the arc', why: 'Petrol and a hot exhaust.' },
      {
        id: 'sound',
        text: 'Sound test heard at this seat',
        why: 'A sound that was never heard is not recognised.',
        act: 'sound-test',
      },
      { id: 'hearing', text: 'Hearing and eye protection on, loose clothing off', why: 'Noise, stones, belts.' },
      { id: 'mix', text: 'Fuel mixed as the maker says, tank filled, line bled', why: 'Oil is the only lubrication.' },
      {
        id: 'throttle',
        text: 'Throttle moves freely and closes',
        why: 'The first start is made with it nearly closed.',
      },
      {
        id: 'supply',
        text: 'Engine supply on, battery charged',
        why: 'Weak ignition kicks back.',
        input: { key: 'supply', state: 1 },
      },
      { id: 'fan', text: 'Cooling fan on', why: 'On a stand there is no airspeed.', input: { key: 'fan', state: 1 } },
    ],
  },
  {
    stage: 'prime',
    title: 'Prime',
    items: [
      {
        id: 'prime-off',
        text: 'Ignition off',
        why: 'Treat the propeller as live even so.',
        input: { key: 'ignition', state: 0 },
      },
      { id: 'prime', text: 'Prime until fuel reaches the carburettor', why: 'Dry cranking only heats the starter.' },
    ],
  },
  {
    stage: 'start',
    title: 'Start',
    items: [
      { id: 'call', text: 'Call "clear" and get the answer', why: 'Agreed signals.' },
      { id: 'ignition', text: 'Ignition on', why: 'Only now.', input: { key: 'ignition', state: 1 } },
      {
        id: 'crank',
        text: 'Crank at most 8 s, then rest at least 2 min',
        why: 'The starter heats fast and cools slowly.',
      },
      {
        id: 'small-throttle',
        text: 'First start at small throttle; hold it there until it runs evenly, then idle',
        why: 'A cold engine that leaps to speed scuffs its piston.',
      },
    ],
  },
  {
    stage: 'shut-down',
    title: 'Shut down',
    items: [
      { id: 'idle', text: 'Idle until the heads are falling', why: 'A cut at full heat soaks the head.' },
      { id: 'cut', text: 'Ignition off', why: 'Then the propeller stops.', input: { key: 'ignition', state: 0 } },
      { id: 'fan-on', text: 'Fan on until the heads are below 80 °C, then off', why: 'Heat soaks out of the piston.' },
      { id: 'tank', text: 'Tank valve shut', why: 'No fuel into a standing engine.' },
      { id: 'supplies', text: 'Engine supply off, backup supply last', why: 'The bench watches until the end.' },
    ],
  },
];

export const lapwingCautions: readonly string[] = [
  'DANGER: a turning propeller cannot be seen. Stay out of its arc and out of the plane in which it turns.',
  'DANGER: treat the propeller as live at all times, ignition off or not.',
  'WARNING: exhaust gas contains carbon monoxide. Run in the open or with the extraction that your code demands.',
  'WARNING: petrol vapour burns. Extinguisher at hand, fuel shut-off within reach, no smoking.',
  'WARNING: never run alone. Agree signals before the start.',
  'CAUTION: wear hearing and eye protection; no loose clothing.',
  'CAUTION: exhausts and heads stay hot long after the stop.',
  'Local codes, the makers of engine and propeller, the site risk assessment and licensed practice come before anything that this program says.',
];
