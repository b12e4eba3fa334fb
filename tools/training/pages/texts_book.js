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
  name: 'Name or initials',
  code: 'Code',
  pick: 'Pick a drill',
  practice: 'Practice',
  'no-results': 'No drill finished yet. The first one takes about ten minutes.',
  shuffled: 'One at random',
  'practice-text':
    'Hints if you want them. A dangerous choice is explained at once. A card is taken back, and what you hand in then is judged; what was pressed at the plant stays pressed. The record keeps both.',
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
    'Passed is an exam in which every drill is safe, and the cause is left open in one at most. Its drills differ from those of practice in place, time and numbers.',
  explain: 'Explain drill {0}: {1}',
  'back-to-exam': "Back to the exam's results",
  'sure-leave-exam':
    'An exam is under way. Leave it? Its drills so far stay on record, the rest is not done.',
  'go-on-exam': 'Go on with the exam',

  'delete-mine': 'Delete: drill {0}, {1}',
  'sure-mine': 'Delete the record of drill {0}? It cannot be brought back.',
  'mine-text': "What you did since you joined. The trainer keeps these on the trainer's computer.",
  when: 'when',
  result: 'result',
  'points-head': 'points',
  print: 'Print',

  lost: "No connection to the trainer's computer. Your drill is paused, nothing is lost. Trying again.",
  late: 'This page is {0} s behind. What you see is old ({1}).',
  'a-little-late': '{0} s behind',
  'in-seconds': 'In {0} s.',
  'try-now': 'Try now',
  restarted: "The trainer's computer was restarted. Your drill goes on from what you did last.",
  rejoin: "The trainer's computer was restarted, or your place was given away. Join again.",
  windows: 'This drill is open in another window too. Both show the same; answer in either.',
  paused: 'Paused by the trainer. Look up, please.',
  held: 'You have stopped the clock.',
  'hold-clock': 'Stop the clock',
  'let-clock-run': 'Let the clock run',

  keys: 'Single keys',
  'keys-on': 'Use single keys (none of them acts on the machine)',
  'keys-list':
    "C controller panel, I I/O panel, L log, T time line, B telegrams, S settings, Q the step's question, P stop the clock or let it run. Esc closes what was opened last.",
};
