"""Where the design page leaves two fair readings: the section, the question, and the reading taken here.

Where the page only names a thing (how far a block moves, where a man who arrives stands, who scrapes when a rule does
not name him), the words of DEVELOPERS.md before 30 November 2026 ("How the engine decides") are followed.
"""

from __future__ import annotations

QUESTIONS: tuple[tuple[str, str, str], ...] = (
    (
        "4, hinge",
        "A fifth of which gap's width, when the two gaps beside him differ?",
        "The narrower of the two, so that neither boundary moves by more than a fifth of either gap.",
    ),
    (
        "4, hinge",
        "Who is the first man outside him, and where does that man end up when he is beaten?",
        "The owner of the lane next to him on the outside; he is beaten to no lane, since a hinge washes nobody.",
    ),
    (
        "4, one blocker, one man",
        "Where does a man stand 'across' at the fit when two men share a lane?",
        "Side by side in it, in the order of their gaps before the snap, then of their alignment.",
    ),
    (
        "4, one blocker, one man",
        "Is 'the outer' of two men the one who lined up further out, or the one who fits further out?",
        "The one who fits further out: the rule speaks of the moment of the fit.",
    ),
    (
        "4, one blocker, one man",
        "Does a wrap or a lead pass over a man whom the kick already has?",
        "No: each blocker takes the nearest man for himself. At equal distance the shallower man then has both.",
    ),
    (
        "4, one blocker, one man",
        "Does an arc pass the edge by, for the man in support whom it is meant for?",
        "Yes: on a toss the slot has the corner, not the end (outside row F49).",
    ),
    (
        "3 and 6, timing",
        "Are crossing paths measured to the gaps of the call or to the fits of this snap?",
        "To the gaps of the call: section 3 checks the pressure before any scheme, and the loader can say the same.",
    ),
    (
        "3 and 6, timing",
        "Is a rusher who has to wait late, or late only if the wait makes him miss the ball?",
        "Late: 'the call counts as late'.",
    ),
    (
        "6, the pull",
        "Is a blocker who pulls round his own end 'across, away from him' for the men beside him?",
        "Yes: any puller who bounded the man's gap. Staffs differ (outside row F25), and the team rule covers it.",
    ),
    (
        "6, options, midline",
        "Is a shade on the center's outside shoulder 'beyond the center's outside edge'?",
        "No: a one-technique stands on that edge, so the first down lineman further out is read.",
    ),
    (
        "6, options, end man",
        "Which split man is a defender 'over'?",
        "One who stands less than a man's width (0.9 yd) away across.",
    ),
    (
        "6, options, end man",
        "Does the man whom a call names come before the end man on the line, or only where nobody stands there?",
        "Before: 'a call may name him'. Of several the one who stands on that side.",
    ),
    (
        "6, options, end man",
        "Whom does the quarterback read where nobody stands in the end man's place (a five-technique inside an end)?",
        "Nobody: there is no rule, and that is said.",
    ),
    (
        "6, options, read men on midline and veer",
        "Do they count where they stood or where they go?",
        "Where they stood at the snap, as for the end man: the quarterback can't know who slants.",
    ),
    (
        "6, options; 8, law 13",
        "Does 'the dive's owner stands where the dive hits' bind the man who is read?",
        "On the play side: elsewhere he has the next man's phase. From the back side he closes (W14, F51).",
    ),
    (
        "6, options, no trade",
        "Which lane has a scraper who goes over the top across a teammate's lane?",
        "None: he has his phase, and the lane that he left is open.",
    ),
    (
        "6, options, the trade; 8, law 9",
        "May read man and scraper trade across a lane that nobody owns yet?",
        "No, only side by side: support may come to that lane, and then the read man has crossed a teammate.",
    ),
    (
        "6, support; 8, law 11",
        "May a man with a phase fill an open lane?",
        "Only outside the man who is read: inside him it would take him away from his phase.",
    ),
    (
        "6, support; 8, laws 9 and 11",
        "Force has the outermost unowned lane on his side: even where a wider alley man would have to stay idle then?",
        "Not then: laws 9 and 11 come first, so the wider man has the outermost lane and force the next one in.",
    ),
    (
        "6, support; 8, law 3",
        "Does force come before a man who would be in time where force would be late?",
        "No: a call is sound where some lawful assignment is in time, so the fewest late come before force's place.",
    ),
    (
        "6, support; 8, law 3",
        "Is a call sound whose lanes can all be matched in time, but only by men of support who cross?",
        "No: law 9 says never, so law 3 speaks of the matchings without a crossing.",
    ),
    (
        "3 and 6, timing",
        "Where does the way of a man who shows one place and plays from another begin?",
        "At the place he plays from; the engine has him bail toward it from where he shows while he reads.",
    ),
    (
        "6, support",
        "Is a lane whose only owner cannot get there 'really open'?",
        "Yes: somebody in support may take it.",
    ),
    (
        "6, support; 8, laws 9 and 11",
        "May a man stay idle beside an open lane when taking it would make two men of support cross?",
        "Yes: they never cross. Among assignments without a crossing as many lanes as can be are covered.",
    ),
    (
        "6, threat, two gaps",
        "Which lane does a two-gap player's row show?",
        "The one in which he is threatened, else his first.",
    ),
    (
        "6, threat, kick",
        "Whom does a kick threaten that lands in a gap nobody owns (an end blocks down, the edge has C)?",
        "Nobody: a kick is for the man who boxes or spills it.",
    ),
    (
        "2, alignment",
        "Where is the middle of an unbalanced formation?",
        "At the center.",
    ),
)
