"""The routes, one module per noun: gather, call, save, render; nothing else. Who may use them: `accounts.permissions`.

Templates and their context
---------------------------
Every template also gets `viewer` (None, or .team with .id .name .join_code .time_zone, .member with .name .number
.positions, .role, .is_coach), `path`, `language` (.code .script_words) and `languages` {code: name}; texts go through
`_("…")`, `ngettext` or `{% trans %}` (see tests/i18n/texts.py). Reps and answers come in the page's language. Filters:
`moment(zone)` (day and time), `day(zone)`, `drawing` (one of our drawings, not escaped). Global: `address(path,
**query)`. An unknown name in a template is an error. No inline style, no inline script. Forms are plain; a field that
is not listed is refused.

problem.html            title, message, details [str], status, request_id
player/team.html        code, problem ("" or one line); form GET /team: code
player/sign_in.html     team, number, problem; form POST /team/{team.join_code}: number, pin
player/home.html        room (None, or the meeting that is on for him), due, is_new (he has answered nothing yet),
                        practices (his own, unfinished), done,
                        missed, taken_back: lists of SetProgress (below); a form POST
                        /sets/{id}/open for each of the first two; calls [OwnCall: .call .stand (owned | keep sharp |
                        fading | coming | not yet | new) .right .answered .last_at .until .to_show [.stage .side (empty:
                        both)]], offered (None or one of them), lengths, shortest, may_begin; form POST /practice: call,
                        length
player/first_rep.html   first (quizgen's FirstRep), svg, chosen ("" or a choice id); form GET /first-rep: choice_1
player/no_signal.html   nothing more; its script fills in what is on the phone
player/set.html         set (SetProgress, not finished), check_min; form POST /sets/{id}/open
player/rep.html         set (SetProgress), place (.place .again_of: None, or it is another form of a missed rep),
                        number (1-based, of set.total), rep (KeptRep), answer_id;
                        form POST /sets/{id}/reps/{place.place}: answer_id, choice_1 .. choice_n (a choice id for each
                        of rep.parts), took_ms (optional, whole milliseconds)
player/feedback.html    set, place, number, rep, answer (Answer), picture (SVG: where the answer leads), next
                        (address of the next rep or of the summary)
player/summary.html     set, results [(Answer, KeptRep)], pictures [SVG, one for each result],
                        summary (SetSummary: places in results .at_once .got .open; .pattern), own (None or the
                        call's OwnCall), is_over,
                        verdict (None, or Verdict of a finished check)
coach/sign_in.html      team, asks_team (bool), name, problem; form POST /coach/sign-in: team, name, passphrase
coach/board.html        groups [BoardGroup: .name .lines [BoardRow: .member .cells [mastery's Estimate]]
                        .count(call index, state)], group_names, calls [str] (the columns: the chosen one, then those
                        somebody was asked about), every [str], call (chosen), queries {call: "?call=…"}, why {(player,
                        call): sentence}, next (None or RepNext: .call .side .group .behind [id] .asked .stage .missed),
                        group ("" or chosen), stage, side (None or chosen), stages, opponent ("": the usual mix),
                                                behind [NotThereYet], players (count), answers (count), now, tag (see
                                                web/conditional.py)
coach/call.html         call, calls, states [(state, count)], behind [NotThereYet], players (count), group, group_names,
                        stage, side, stages, opponent, counts [StageCount: .stage .side .right .answered .people
                        .last_at], chart (SVG), taps [WrongTap], confusions [ShownConfusion: .finding
                        (mastery's Confusion) .chosen_words .right_words .is_confirmed .is_by_relation .last_at
                        .tapped (None or .stem .misses .svg)], answers, now, tag
coach/player.html       player (Member), calls [CallRow: .cell .sides [SideCount]], why {call: sentence},
                        pattern (None, or MissPattern), call ("" or chosen),
                        and of that call full (mastery's CallReadout), range (.low .likely .high, of 100), counts,
                        chart;
                        weeks [Week: .begins .right .answered], week_words(day), history (SVG),
                        hurried (count of answers under hurried_s), past [PastAnswers],
                        misses [ShownMiss: .answer
                        .rep .tapped_svg .after_svg], missed (count), confusions [ShownConfusion], opponent
coach/assign.html       problem, form (Filled: .fields (AssignmentFields: what is ticked and typed) .call
                        .groups [GroupChoice: .name .positions .players [PlayerOption: .member .cell .is_picked]]
                        .receivers .behind [Member]
                        .at {stage: players at it} .stages .sides .has_usual_stages), calls, stages, sides, longest,
                        check_min, check_max, zone, samples [KeptRep] (none: nothing matches), days [PracticeDay],
                        opponent (None or Opponent), is_charted;
                        form POST /coach/sets (or GET /coach/assign to fill it in): the fields of AssignmentFields
coach/sets.html         sets (SetPage: .rows [SentSet: .set .is_over .players .opened .finished] .number .pages .total),
                        calls, call ("" or chosen), state ("", open, over)
coach/set.html          set, sender, is_check, is_over, may_change, groups [GroupInSet: .name .lines .finished
                        .in_it], link (of the team),
                        lines [PlayerInSet: .member .group .progress .sides .late
                        .last_at .verdict], counts {players, opened, finished, right, answered, can, late}, again
                        {unfinished, missed: players}, zone; form POST /coach/sets/{id}/call-back
coach/set_picks.html    set, lines [(Member, [Pick])], waiting (count)
coach/set_change.html   problem, set, form (Filled), change (None after a problem, or SetChange), counts, is_check,
                        is_over, longest, zone; form POST (or GET, to see what it would do) /coach/sets/{id}/change
coach/room_start.html   problem, calls, call, sides, snaps [quizgen's MeetingSnap], chosen [digest], groups, picked, on
                        [Assignment: a meeting that is on], zone; form POST /coach/room: call, sides*, groups*, snaps*
coach/room.html         meeting (MeetingNow: .assignment .meeting [.place .phase .seen] .snap [.heading .offense .lanes
                        .what_ifs] .snaps .joined .asked .answered .wall_version), svg, counts [PlaceCount], missing
                        {position}, quiet [Member], aloud (None or one of them), rep (his KeptRep), answer_id; forms
                        POST /coach/room/{id}: action, place, seen; POST /coach/room/{id}/aloud/{place}: player,
                        answer_id, choice_1 ..
coach/room_end.html     meeting, results [SnapResult: .snap .right .answered .missed_by [position]]
player/room.html        meeting (None or MeetingNow), is_in, rep (None or KeptRep), has_answered, answer, said, picture,
                        answer_id; forms POST /room/{id}/join; POST /room/{id}/{place}: answer_id, choice_1 ..
coach/days.html         problem, typed (None or DayForm), days [(PracticeDay, DayForm, next due)], suggested {key:
                        Suggestion}, blank (DayForm), may_change, stages, sides, longest, check_min, check_max, zone;
                        forms POST /coach/days (DayForm), /coach/days/suggested: key, /coach/days/{id}/delete
coach/defense.html      problem, fields (SnapFields), calls, formations, runs, protections, positions, sides, look (None
                        or the engine's Look), svg, files [name] (heads only), crossings [str], things {kind: [(key,
                        name)]} (heads only), form (None or RenameForm), refused; form POST /coach/defense/rename:
                        thing ("kind/key"), name
coach/sound.html        call, calls, to, sides, table (SoundTable), rule (words of the side's rule, formations
                        met, all), foes [Opponent], lines [AcceptedLine], may_accept; form POST
                        /coach/defense/accepted/{id}/undo: call, to, against
coach/sound_against.html problem, form (None or AcceptForm), call, calls, to (left | right | both), sides, rules
                        [(side, rule)], opponent, foes, held (quizgen's HeldAgainst), lines [(AcceptedLine, snaps)],
                        may_accept, why_max; forms POST /coach/defense/accepted: call, to, against, play, at (call |
                        away), why; and as above
coach/defense_file.html edit (Edit: .name .text .stands .problems .change .is_same); form POST the same address: text,
                        stands, action (look | save)
coach/opponents.html    problem, rows [(Opponent: .id .name .is_next .changed_at, Tendency: .total .known .stages
                        [StageShare: .stage .count .share .weight .plays [PlayShare: .name .count .share .weight]]
                        .unknown [PlayShare])], name, may_change;
                        forms POST /coach/opponents: name; POST /coach/opponents/next: opponent (id, empty: nobody)
coach/opponent.html     problem, opponent, tendency, lined_up [LinedUp: .formation .count .left
                        .right], numbers {play: text}, others [(name, text)], unit, snaps,
                        is_outdated, may_change; forms POST /coach/opponents/{id}: play*, number*, unit, snaps; …/name:
                        name; …/delete
coach/opponent_import.html  opponent, problem; form POST …/{id}/import: file
coach/opponent_map.html opponent, problem, form (PlayListForm as it stands), sheet (PlaySheet), listed, words
                        [Word: .text .lines .count .target .how], plays [PlaySummary], uncharted,
                        formation_words [Word], formations {target: name}; forms POST …/import/map and …/import/try
coach/opponent_try.html opponent, form, dry (DryRun: .play_counts .lines .total .left_out [.why .lines .first]),
                        tendency, lined_up, there (count), stands, glances [(column, [(cell, lines)])], snaps (lines
                        below the headings); forms POST …/import/map and …/import/store
coach/roster.html       lines [{member, group, has_pin}], link, qr (SVG), may_issue, ticks_all, removed [Member],
                        erasing (None or Erasing, when it waits or is near);
                        forms POST /coach/roster/codes: players*; POST /coach/roster/team-code
coach/roster_import.html problem, text, plan (None or roster_csv.Plan), header, samples, uses; forms POST
                        /coach/roster/import: file; POST /coach/roster/import/take: text, use*, others, digest, action
coach/data.html, player/data.html held (HeldData); form POST /coach/players/{id}/erase: typed
coach/results.html      kind, call, group, calls, group_names, rows (count), players (count)
coach/audit.html        lines [{entry, who, about}], action, actions, number, pages, total, player
coach/coaches.html      coaches [Member], groups [str], form, problem, made (None, or a name and his passphrase)
player/begin.html       token, form (BeginForm), problem, starters, zones, shortest; form POST /begin/{token}
coach/set_up_words.html positions [(key, name, label, group)], gaps [(letter, word)], problem; form POST
                        /coach/set-up/words: keys*, names*, labels*, words*
coach/set_up_asks.html  rules [AskedRule: .rule .now .man .when .answers [(answer, told, SVG)]], numberings, numbering;
                        form POST /coach/set-up/asks: a field for each rule, numbering
coach/install.html      draft (Draft), names {coach id: name}, found (Preview: .problems .answers (quizgen's
                        AnswerChanges) .sound (Change) .touched), problem, note, version, players (count), own_last,
                        own_next (None or DraftEdit), may_change; forms POST /coach/defense/install: note, seen; POST
                        /coach/defense/draft/undo and redo: back; POST /coach/defense/draft/take-out: number
coach/versions.html     versions [ContentVersion], names, a, b (numbers), differs [quizgen's Difference], is_changed,
                        installed, may_change; form POST /coach/defense/versions/bring-back: number
coach/call_field.html   call (key), row, shown (Shown), draft, field (None or quizgen's CallField), svg, sound, before
                        (None or SoundCount), problems, refused, men [ManInCall], told {key: FieldMan}, own (None or
                        ManInCall), addresses {key: address}, choices, formations [(name,
                        snaps)], runs, fronts, calls [(key, name)], sides, own_last, own_next, back, may_change; forms
                        POST /coach/defense/calls/{call}/men/{man}: ManForm; /field: CallForm
coach/call_remove.html  call, row, hangs [name], draft; form POST /coach/defense/calls/{call}/remove: seen
coach/both.html         met (EditClash), names, action, sent {field: value}, back; form POST action: sent and anyway
coach/help.html         samples [KeptRep] (one, or none without calls), keep_days
player/help.html        pictures {asked, wrong, right: SVG}
coach/erasing.html      erasing (None or Erasing), counts {what: count}, owners [name], is_owner, season_end, due (the
                        last day kept), problem; forms POST /coach/erasing: typed; POST /coach/erasing/keep
coach/season.html       lines [{member, group}], form (SeasonForm), counted (None or season.Counted), erased_at,
                        season_end, due, problem; forms POST /coach/season: day, leaves*, results, pins, action; POST
                        /coach/season/longer
print/codes.html        issued [(Member, PIN)], link, qr
print/walk_through.html call, group, players (count), situations [MissedSituation: .rep .missed .answered .people], day
print/scout_cards.html  call, group, cards [(KeptRep, SVG in grey, the offense's view)], day

SetProgress .assignment (.id .call .length .due_at .stages .sides .positions), .opened (None: not yet),
            .places [SetPlace], .total .answered .right .again .next_place .is_finished
Verdict     .state (None or a state) .right .answered .sides [SideCount] .more .more_right (after the decision)
SetPlace    .place .rep_id .again_of .is_right (None: not answered) .answer (None or PlaceAnswer)
KeptRep    .rep_id .kind .stage .position .call .to .formation .play .play_to .stem .because, .before_svg .after_svg,
            .parts [{prompt, choices [{id, label, leaves, relation}], right [id]}]
Answer      .chosen [id] .is_right .is_late .received_at .chosen_words .right_words .explanation
BoardCell   .call .state (can | can't | faded | not proven) .answered .right .p_can,
            .last_at (None: never)
NotThereYet .member .cell .sides [SideCount: .side .right .answered] .open_sides [side], .short [str: what is missing
            for can]
WrongTap    .position .right_words .chosen_words .count .misses .people

For the page's script: GET /api/sets/{set}, GET /api/sets/{set}/reps/{rep}, PUT /api/sets/{set}/answers/{id made on the
phone, 16 to 64 of A-Z a-z 0-9 _ -} with {rep_id, chosen: [choice id for each part], attempt: 1, took_ms?}; see api.py.
"""

from server.routes import (
    api,
    assign,
    audit,
    begin,
    board,
    call_page,
    coaches,
    data,
    days,
    defense,
    entry,
    erasing,
    exports,
    health,
    help_pages,
    language,
    meeting,
    metrics,
    opponents,
    play_list,
    player,
    practice,
    results,
    roster,
    season,
    sets,
    sheets,
    soundness,
    workbench,
)

#: In the order of matching: what phones request most comes first.
ROUTERS = (
    api.router,
    entry.router,
    begin.router,
    health.router,
    help_pages.router,
    language.router,
    player.router,
    practice.router,
    meeting.router,
    board.router,
    assign.router,
    sets.router,
    days.router,
    defense.router,
    soundness.router,
    workbench.router,
    call_page.router,
    opponents.router,
    data.router,
    audit.router,
    erasing.router,
    exports.router,
    coaches.router,
    results.router,
    play_list.router,
    roster.router,
    season.router,
    sheets.router,
    metrics.router,
)
