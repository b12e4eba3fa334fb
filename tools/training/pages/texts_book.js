// The pages of a trainee: joining, drills, exams, own results, and how page and trainer's computer
// get on.

export const BOOK = {
  title: 'Shift book',
  'skip-bench': 'Skip to the bench',
  'skip-question': "Skip to the step's question",
  pages: 'Pages',
  moment: 'One moment.',

  drills: 'Drills',
  mine: 'My results',
  drill: 'Drill {0}: {1}',
  join: 'Join',
  'join-what':
    'Here you meet a machine with something wrong in its safety link, and find out what: make it safe, look, name it, act. Nothing here is connected to a real machine. A drill takes about ten minutes, an exam of six about an hour.',
  'join-kept':
    "What you do and answer is kept under the name that you type, on the trainer's computer only, and the trainer reads it. The trainer can delete it. Initials do.",
  name: 'Name or initials',
  code: 'Code',
  pick: 'Pick a drill',
  practice: 'Practice',
  'no-results': 'No drill finished yet. The first one takes about ten minutes.',
  shuffled: 'One at random',
  alike: 'Group {0}: these look the same at first',
  'alike-to': 'others that look the same: {0}',
  done: 'found',
  'not-found-yet': 'tried, not found yet',
  'is-broken': 'not scored: it does not show what it should',
  'no-such-drill': 'There is no drill under way here. Pick one.',
  'practice-text':
    'Hints if you want them. A dangerous act is explained at once, with what it would have led to, and taken back; what you do instead is judged. What was pressed at the bench, in step 1 or 2, stays pressed. The record keeps both.',
  'about-minutes': 'about {0} min',
  'go-on-drill': 'Go on with the drill under way',
  'drills-head': 'drill',

  'exam-head': 'Exam',
  'exam-text': '{0} drills, shuffled. No hints, no titles; all is explained at the end.',
  'begin-exam': 'Begin an exam',
  'exam-at': 'Exam, drill {0} of {1}',
  'handed-in': 'Handed in. {0} of {1} done.',
  'next-of-exam': 'Next drill of the exam',
  'exam-over': 'Exam over',
  'exam-rule':
    'Passed is an exam in which every drill is safe, and the cause is left open in one at most. Its drills differ from those of practice in addresses and numbers, most in time, some in place or cause.',
  'exam-number': 'Exam {0}. {1} of {2} drills were judged.',
  explain: 'Explain drill {0}: {1}',
  'back-to-exam': "Back to the exam's results",
  'sure-leave-exam':
    'An exam is under way. Leave it? Its drills so far stay on record, the rest is not done, and the exam stands there as abandoned.',
  'go-on-exam': 'Go on with the exam',

  'open-mine': 'Open: drill {0}, {1}',
  'withdraw-mine': 'Withdraw: drill {0}, {1}',
  'sure-mine':
    'Say that you do not stand by drill {0}? It stays on record, marked as withdrawn, and that cannot be taken back.',
  'mine-text':
    "What you did since you joined, kept on the trainer's computer. Only the trainer deletes. You may withdraw practice: it stays, marked. An exam stays as it is.",
  withdrawn: 'withdrawn by the trainee, {0}',
  deleted: 'deleted by the trainer, {0}',
  'back-to-mine': 'Back to my results',
  when: 'when',
  result: 'result',
  'points-head': 'points',
  print: 'Print',

  lost: "No connection to the trainer's computer. Your drill is paused. Trying again.",
  late: 'This page is {0} s behind. What you see is old ({1}).',
  'a-little-late': '{0} s behind',
  'in-seconds': 'In {0} s.',
  'try-now': 'Try now',
  restarted: "The trainer's computer was restarted. Your drill goes on from what you did last.",
  rejoin: "The trainer's computer was restarted, or your place was given away. Join again.",
  'too-much': 'That was too much at once. Send less.',
  'too-often': 'That was too often. Wait a moment, then try again.',
  'not-done': "The trainer's computer could not do that ({0}). Try again, or ask the trainer.",
  windows:
    'This drill is open in another window too. What is answered or done in one shows in the other.',
  paused: 'Paused by the trainer. Look up, please.',
  held: 'You have stopped the clock.',
  'handed-in-head': 'Handed in',
  'held-back':
    'Somebody here is asked for this drill in an exam. Until that is over its answer is told to nobody: look again later, here or under "My results".',
  'hold-clock': 'Stop the clock',
  'let-clock-run': 'Let the clock run',

  keys: 'Single keys',
  'keys-on': 'Use single keys (none of them acts on the machine)',
  'keys-list':
    "C controller panel, I I/O panel, L log, T time line, B telegrams, S settings, Q the step's question, P stop the clock or let it run. Esc closes what was opened last.",
};
