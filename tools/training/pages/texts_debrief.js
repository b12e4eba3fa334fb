// The debrief of a drill.

export const DEBRIEF = {
  points: '{0} of 100: secure {1}, evidence {2}, diagnosis {3}, action {4}',
  'trainer-was-here': "What the trainer's hand did",
  'you-said': 'You said',
  'not-judged-why':
    "This drill is not judged: no points, no pass, no fail. What the trainer changed is not the drill's own cause, so its right answer does not count here.",
  'right-answer': 'Where: {0}. What: {1}.',
  'right-link': 'Link: {0}.',
  reasons: 'Reasons',
  'look-alikes': 'Looks the same: drill {0}',
  'right-acts': 'What had to be done',
  again: 'Again',
  next: 'Next drill',
  'instruments-now': 'What the instruments show',

  'what-happened': 'What happened',
  'same-as-table': 'The same as a table',
  mark: 'mark',
  'since-cause': 'after',
  'ran-on':
    'From the first stop of an end to the command to the drive: {0} ms, the part of the link. From that command to standstill: {1} ms, the part of the machine.',
  'ran-on-model': 'By its model the machine needs at most {0} ms, from full speed.',

  'ages-head': 'How old what came was',
  'ages-measured': 'As each end measured it, by the stamps and its own clock.',
  'ages-true':
    'As the observer knows it. No end could read it: no telegram carries the clock of its sender.',
  'ages-text':
    'Age of what came, in ms, over the whole record. At the controller from {0} to {1} ms, at the I/O from {2} to {3} ms.',
  'ages-c': 'at the controller',
  'ages-d': 'at the I/O',

  'one-telegram': 'The telegram that was rejected',
  'no-telegram': 'No telegram was rejected in this drill.',
  'telegram-came': '{0}, {1}: rejected ({2}).',
  'number-before': 'The number that this end had accepted last was {0}.',
  field: 'field',
  meaning: 'meaning',
  'under-crc': 'under the CRC?',
  expected: 'expected',
  found: 'found',
  'as-sent': 'as it was sent',
  'not-in-bytes': 'not in the bytes',

  'what-ends-knew': 'What each end knew',
  'k-stopped': '{0} stopped at {1}: {2}.',
  'k-runs': '{0} never stopped.',
  'k-never': '{0} never ran: since it was switched on it accepted {1} telegrams.',
  'k-window':
    'In the {0} ms before, its watchdog time, it got {1} telegrams with a new number, {2} with nothing new, {3} rejected.',
  'k-window-now':
    'In the last {0} ms on record, its watchdog time, it got {1} telegrams with a new number, {2} with nothing new, {3} rejected.',
  'k-start': 'Besides {0} of a start, or not looked at while it waited for one.',
  'k-lost-power': 'it had lost its power and started anew',
  'k-numbers': 'Numbers from {0} to {1}.',
  'k-one-number': 'The same number {0} all the time.',
  'k-silent': 'Nothing came.',
  'k-last-good': 'The last good one was {0} ms old.',
  'k-no-good': 'There was no good one on record.',
};
