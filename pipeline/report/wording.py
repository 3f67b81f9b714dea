"""Every sentence a page says, and how numbers and dates are written. One catalogue, no other."""

from __future__ import annotations

import datetime as dt
import math
from decimal import ROUND_HALF_UP, Decimal

from pipeline.measures.spec import Measure
from pipeline.tables import EXTRA_DECIMALS

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

_RAISED = str.maketrans("0123456789.", "⁰¹²³⁴⁵⁶⁷⁸⁹·")

NOTHING = "–"
"""What a cell shows where there is no value."""

SENTENCES: dict[str, str] = {
    # --- who, when, under what conditions
    "person": "{facts}.",
    "age": "{age} years",
    "tested on": "Tested: {sessions}.",
    "label in test": "{test}, {label}",
    "label apart": "{label} ({apart})",
    "session": "{name} {date}{conditions}",
    "session conditions": " ({conditions})",
    "last tested": "Last tested {date} ({term}).",
    "first time": "First testing day here.",
    "indoors": "indoors",
    "outdoors": "outdoors",
    # --- the fields of the comparison key, in words
    "is start": "{text} start",
    "is start_distance_m": "{text} m behind the first gate",
    "is at the line": "at the first gate",
    "is drop_height_m": "from {text} m",
    "is run_in_m": "{text} m run-in",
    "is clock": "{text} clock",
    "is timing": "timed by {text}",
    "is beams": "{text} beams",
    "is indoor": "indoors: {text}",
    "is surface": "{text}",
    "is footwear": "{text}",
    "is side": "{text}",
    "is arms": "arms {text}",
    "is device": "on a {text}",
    "is ends": "{text}",
    "is leg": "{text} leg",
    "is depth": "{text}",
    "is load_is": "load {text}",
    "is load_is each": "load of each hand",
    "is load_is total": "load of both hands",
    "is body_mass": "body mass counted",
    "is occasion": "{text}",
    "is mark": "marked {text}",
    "is over": "above: {text}",
    "is under": "below: {text}",
    "is basis": "{text}",
    # --- first page
    "today lead": "What you did.",
    "today": "You {deeds}.",
    "did time": "ran the {test} in {value}",
    "did speed": "ran the {test} at {value}",
    "did jump_height": "jumped {value} ({test})",
    "did distance": "jumped {value} ({test})",
    "did rsi": "rebounded off {part} with a reactive strength of {value} (higher is springier)",
    "did one_rep_max": "{how} {value} ({test})",
    "did value": "reached {value} ({test})",
    "did other": "reached {value} ({label})",
    "is measured": "lifted",
    "is estimated": "lifted sets that stand for about",
    "best so far": "Best so far of the days we can compare: {marks}.",
    "no best": "No best mark this time.",
    "first marks": "First marks: {marks}. The next day will tell more.",
    "no result": "No result was taken for you on this day.",
    "well lead": "What went well.",
    "clear one": (
        "{label}: {value}, clearly {way} than on {date}, by {amount} (a change needs {needs})."
    ),
    "believe one": "That is more than the wobble of the test, so we believe it.",
    "believe many": "Each is more than the wobble of its test, so we believe them.",
    "worse lead": "What your coach will look at with you.",
    "steady lead": "What held.",
    "steady marks": "Steady: {marks}.",
    "rest lead": "What we cannot say yet.",
    "rest": (
        "Every test wobbles a little from day to day. The other changes in the table are within "
        "that wobble or cannot be judged; its last column says which."
    ),
    "rest all": (
        "Every test wobbles a little from day to day. The changes in the table are within that "
        "wobble or cannot be judged; its last column says which."
    ),
    "first day lead": "First marks.",
    "first day": (
        "This was your first testing day here, so there is nothing to compare with yet. Next time "
        "the same tests, done the same way, will show what moved."
    ),
    "first of these": (
        "None of this was tested here before, so there is nothing to compare with yet. Next time "
        "the same tests, done the same way, will show what moved."
    ),
    "score": (
        "The best of the day is shown. What is judged is steadier: the mean of your best two "
        "attempts where two were made."
    ),
    "first table": "Your tests, this day beside the last one that can be compared",
    "col test": "test",
    "col before": "before",
    "col now": "now",
    "col verdict": "what we can say",
    "verdict clear": "clearly {way} (by {amount}; needs {needs})",
    "verdict steady": "steady (no change of {worth} or more)",
    "verdict cannot": "cannot tell yet (by {amount}; needs {needs})",
    "verdict cannot why": "cannot tell: {why}",
    "verdict none": "no verdict: {why}",
    "verdict neither": "no better or worse in it",
    "why no value": "there is no value to judge",
    "why no typical error": "wobble not known",
    "why within the error": "less than the test's own wobble",
    "why beyond the error, less than worthwhile": "more than wobble, but too small to matter",
    "why the error of this test is not known well enough": "wobble hardly known",
    "why too uncertain to judge": "too uncertain to judge",
    "why taken easy": "taken easy",
    "why everybody moved together": "everybody moved together; the test is checked first",
    "why one attempt only": "one attempt only",
    "why more than half of it is body mass": "more than half of it is body mass",
    "why winds apart": "winds too far apart",
    "why unequal attempts": "another number of attempts than before",
    "verdict first": "first mark",
    "verdict alone": "no day to set it against",
    "verdict different": "not comparable: {reason}",
    "verdict limited": "taken easy, not judged",
    "before on": "{value} ({date})",
    "before": "{value}",
    "before lines": "{value}\n{date}",
    "sure lead": "How sure are we?",
    "sure attempts": "Good runs and attempts: {tests}.",
    "sure attempt": "{test} ({count})",
    "attempts one": "one good attempt",
    "attempts many": "{count} good attempts",
    "sure same": "Same conditions as before: {tests}.",
    "sure different": "Other conditions than before: {tests}; those are not set side by side.",
    "sure wind": "Wind: {winds}; the times shown are not adjusted.",
    "sure times in still air": "Set side by side in still air, as the winds differed: {tests}.",
    "sure wind not known": "Wind not known: {tests}.",
    "sure unequal attempts, corrected": "Another number of attempts, allowed for: {tests}.",
    "sure flags": "Noted: {flags}.",
    "missing lead": "Not tested this time:",
    "missing none": "Everything tested last time was tested again.",
    "missing first": "There is no earlier day to compare the list of tests with.",
    "missing": "{tests}.",
    "missing reason": "{test} ({reason})",
    "all tests": "all tests",
    "no marks": "No mark: {tests}.",
    "rows aside": "Some of your rows could not be used; ask the staff.",
    "sheet unread": "taken, but its sheet could not be read",
    "took it easy": (
        "Taken easy: {tests}. Not judged; when to go all out again is for the medical staff."
    ),
    "growing lead": "You are growing:",
    "growing": (
        "{value} since the last measurement. Some tests shift a little while you grow; that is "
        "normal."
    ),
    "growing fast": (
        "{value}, which is fast. Tests shift while you grow like that, up or down; it is normal, "
        "and your coach keeps it in mind."
    ),
    "parents kind": "For parents:",
    "parents": (
        "these numbers help plan training. They are not a selection mark and no medical "
        "clearance. Pain or worry: tell the coach; medical questions go to the medical team."
    ),
    # --- the working
    "run heading": "{test}. {conditions}",
    "unfinished": "a run without a finish time",
    "sprint none": "No sprint was timed on this day.",
    "sprint conditions": "Best whole run of {count}. {conditions}.",
    "sprint conditions none": "Best whole run of {count}. Conditions were not recorded.",
    "phases caption": "{test} by phase, from first movement",
    "phases caption gun": (
        "{test} by phase; no reaction time was taken, so the first is from the gun"
    ),
    "phases none": "The ends of no phase set were all timed, so no phases are given.",
    "col phase": "phase",
    "col time": "time",
    "col speed": "mean speed",
    "col share": "share of the time",
    "phase row": "{ends}, {name}",
    "gates caption": "{test} at the gates, by the clock used",
    "col gate": "gate",
    "col clock": "clock",
    "col segment": "since the gate before",
    "reaction": "Reaction to the gun: {value}, not part of the first phase.",
    "first movement": "{test}, from first movement",
    "zone": "Shaded in the chart: your fastest 20 m.",
    "fade": "From 60 to 100 m you lost {value} against holding that speed.",
    "still air": (
        "In still air at sea level this would have been about {value} ({model}; {caution})."
    ),
    "bend": "On an outdoor track the first 100 m are the bend, the rest is the straight.",
    "model none": (
        "No curve was fitted to these gates: too few, by stopwatch, or not a sprint's shape."
    ),
    "another run": "Your best time was another run, which lacked a gate; it counts as your time.",
    "joined": "A gate gave no time, so two phases stand as one.",
    "model heading": "The curve behind the gates, {test}",
    "model sentence": (
        "A smooth curve through the gates tops out at {top}{interval}; it misses the gates by "
        "{rms}. 95 % of that speed is reached at {near}."
    ),
    "model constant": "Its time constant is {constant}.",
    "model top at": "It is fastest at {at}.",
    "model interval": " (90 % interval {low} to {high})",
    "model flags": "To be taken with care: {flags}.",
    "model caption": "Speed gained and what it took, by phase, on that curve",
    "col gained": "speed gained",
    "col impulse": "impulse",
    "col force": "mean force",
    "model mean": (
        "Impulse is what you put into the ground forwards, for each kg; long contacts at the "
        "start and short ones at top speed leave different times to do it in."
    ),
    "repeats heading": "Repeated sprints",
    "repeats caption": "Each set: its best, mean and last time",
    "repeats lead": (
        "The decrement wobbles by about 30 % of itself from day to day, so a change in it says "
        "nothing."
    ),
    "col set": "set",
    "col set best": "best",
    "col mean": "mean",
    "col last": "last",
    "col decrement": "decrement",
    "whole set": "the set",
    "steps none": "No steps were recorded on this day.",
    "steps caption": "{test}: steps by zone",
    "steps lead": (
        "Contacts are long at the start and short at top speed. Of the first steps nobody agrees "
        "which way is better."
    ),
    "col zone": "zone",
    "col flight": "flight",
    "col length": "step length",
    "col frequency": "steps a second",
    "col vertical": "mean vertical force",
    "step chart": "{test}: ground contact and the impulse of a step, by zone",
    "step chart alt": "{test}: ground contact {contacts}; impulse of a step {impulses}.",
    "step zone": "{value} in {zone}",
    "axis contact": "contact (s)",
    "axis impulse": "impulse (N·s/kg)",
    "technique none": "No body angle was read off video on this day.",
    "technique caption": "Angles off video, in degrees",
    "technique lead": (
        "An angle is no better or worse by itself; a reference is what your staff set."
    ),
    "col checkpoint": "checkpoint and angle",
    "col reference": "reference",
    "col observers": "observers",
    "one observer": "one observer",
    "flying heading": "Flying sprints",
    "flying caption": "Best of the day, beside the last day that can be compared",
    "decrement": "Over the last 20 m you lost {value} of that speed.",
    "top speed": "Fastest 20 m: {speed}, around {at} from the line.",
    "top speed rising": (
        "Fastest 20 m: {speed}, at the last gates; top speed may lie beyond them."
    ),
    "speed chart": "Mean speed between the gates, {test}",
    "speed chart alt": "{test}: mean speed rises from {first} over the first stretch to {top}.",
    "axis distance": "distance from the line (m)",
    "axis speed": "mean speed (m/s)",
    "jumps none": "No jump was taken on this day.",
    "jumps caption": "Best of the day, beside the last day that can be compared",
    # force traces
    "traces none": "No force trace was taken on this day.",
    "traces lead": (
        "From the force under your feet. Impulse and flight time are two "
        "ways to the same height; the first does not mind how you land."
    ),
    "traces caption heights": "Jumps on the force plate: height two ways, and how quickly it came",
    "traces caption drops": "Drop jumps on the force plate",
    "traces caption forces": "Peak force, body weight included, and how fast force rose",
    "traces window": "{value}\n{window}",
    "traces drop": (
        "Who steps off a box falls a little less than its height; the real drop is what the "
        "contact had to stop."
    ),
    "traces index": (
        "The ratio sets the peak force of the {jump} beside that of the {isometric}; neither way "
        "is better by itself."
    ),
    "traces col impulse_jump_height": "height by impulse",
    "traces col flight_jump_height": "height by flight time",
    "traces col time_to_takeoff": "time to take-off",
    "traces col rsi_modified": "height ÷ time to take-off",
    "traces col peak_relative_force": "peak force, N/kg",
    "traces col rate_of_force": "rate of force, N/s/kg",
    "traces col drop_height_real": "real drop",
    "traces col plate_contact_time": "ground contact",
    "traces col strength_index": "jump ÷ isometric",
    "traces phase unweighting": "unweighting",
    "traces phase braking": "braking",
    "traces phase propulsion": "propulsion",
    "traces phase flight": "flight",
    "traces phase landing": "landing",
    "traces phase contact": "contact",
    "traces moment jump onset": "first movement at {seconds} s",
    "traces moment jump takeoff": "take-off at {seconds} s",
    "traces moment jump landing": "landing at {seconds} s",
    "traces moment drop jump onset": "touchdown at {seconds} s",
    "traces moment drop jump takeoff": "take-off at {seconds} s",
    "traces moment drop jump landing": "landing at {seconds} s",
    "traces moment isometric onset": "start of the pull at {seconds} s",
    "traces axis jump": "time from first movement (s)",
    "traces axis drop jump": "time from touchdown (s)",
    "traces axis isometric": "time from the start of the pull (s)",
    "axis force": "force (body weights)",
    "body weight line": "body weight",
    "force chart": "{name}: force over time. Dots: {moments}.",
    "force chart alt": "{name}: the greatest force drawn is {peak} body weights; {phases}.",
    "force phase": "{name} {seconds} s",
    "force phases none": "one pull",
    "reactive none": "No drop jump was taken on this day.",
    "reactive lead": (
        "Reactive strength is height over ground contact; both are shown, since either may move."
    ),
    "reactive caption": "Drop jumps, the one with the greatest reactive strength at each height",
    "col drop": "from",
    "col height": "jump height",
    "col contact": "ground contact",
    "col rsi": "reactive strength",
    "col ratio": "flight ÷ contact",
    # --- sides, drop heights, rebounds, the instrument's step
    "step": "{value}\n{half}",
    "half step": "\u00b1 {half}",
    "verdict never": "estimated, not set side by side",
    "jumps step": (
        "Below each value: half a step of the clock or tape either way. Digits finer than that "
        "step are not shown."
    ),
    "sides lead": (
        "Difference = 100 \u00b7 (stronger \u2212 weaker) \u00f7 stronger, with its 90 % "
        "interval. It says something only if it is beyond that error on two days, with the same "
        "weaker side."
    ),
    "sides caption": "Left and right",
    "col left": "left",
    "col right": "right",
    "col difference": "difference",
    "col weaker": "weaker side",
    "side difference": "{value}\n{low} to {high} %",
    "sides alarm": (
        "{test}: the {side} side was weaker by {value}, beyond the error of the test, as it was on "
        "{date}. Look at it together with your coach."
    ),
    "moved": (
        "{label}, against {date}: reactive strength {rsi_before} to {rsi}; height "
        "{height_before} to {height}, contact {contact_before} to {contact}. {what}"
    ),
    "moved from": "From {drop}",
    "moved height": "It was mostly the height that moved.",
    "moved contact": "It was mostly the contact that moved.",
    "moved both": "Both moved.",
    "moved neither": "Neither moved by more than the instrument's step.",
    "slow contact": (
        "From {drops} the contact was 250 ms or more: slow stretch-shortening, another quality "
        "than a quick rebound."
    ),
    "drop best": "Greatest reactive strength from {height}, of {count} heights.",
    "drop plateau": (
        "Heights {stretch} lie within 6 % of it: a plateau, so no single one is the best."
    ),
    "drop rising": (
        "That was the highest box, so the curve had not turned yet; this is no advice to go higher."
    ),
    "drop few": "A best drop height needs at least three heights; {count} had a result.",
    "drop real": (
        "Heights are those of the box. The drop itself is less: in one study 10 % from a box of "
        "30 cm and 14 % from one of 40 cm (McMahon et al. 2021)."
    ),
    "drop chart": "Reactive strength by drop height; at the marks: jump height, ground contact",
    "drop chart alt": "Reactive strength by drop height. {days}",
    "drop chart day": "{date}: {marks}.",
    "drop chart mark": "{rsi} from {drop} (height {height}, contact {contact})",
    "axis drop": "drop height (cm)",
    "axis rsi": "reactive strength (m/s)",
    "rebounds heading": "Rebound series",
    "rebounds caption": "Means over the contacts that count",
    "rebounds rule": "{test}: {rule}.",
    "ratio none": "Nobody has both jumps of this day under the same conditions.",
    "ratio lead": (
        "Height of the countermovement jump over that of the squat jump. From three jumps each it "
        "is good to about \u00b1 7 %, so it judges nobody."
    ),
    "ratio caption": "Countermovement jump and squat jump of this day",
    "col counter": "countermovement jump",
    "col squat": "squat jump",
    "col jump ratio": "ratio",
    "ratio interval": "{value}\n{low} to {high}",
    "other none": "No other test was taken on this day.",
    "other caption": "Best of the day, beside the last day that can be compared",
    "strength split": (
        "{label}, since {date}: {whole} %, of which the lift {lifted} % and body mass {massed} %."
    ),
    "strength none": "No lift was tested on this day.",
    "strength caption": "Best of the day, beside the last day that can be compared",
    "strength many": (
        "A set of more than 5 repetitions says little of a maximum: at 10 repetitions the "
        "published equations differ by 10 kg in 100."
    ),
    "col best": "best before",
    "col attempts": "attempts",
    "col measure": "measure",
    "col how": "measured or estimated",
    "trends none": "One testing day so far: a trend needs a second one.",
    "trend caption": (
        "Main measures over the testing days, as they are judged (the mean of the best two "
        "attempts where two were made). Bars: how far one day may lie from your level, 9 times in "
        "10. Dashed: the trend, where three days or more can be compared. A dotted upright line: "
        "a new series, since the test was done in another way."
    ),
    "trend slope": "a term: {slope} ({low} to {high}), {days} days; plus is better",
    "trend title": "{label} ({unit})",
    "trend title unitless": "{label}",
    "trend better": "{title}\n{better} is better",
    "trend alt": "{label}: {values}.",
    "trend alt value": "{value} on {date}",
    "own standing none": "No comparison with a group: it takes five others, and nobody under 18.",
    "own standing lead": (
        "Where you stand today among others, each with the latest value. A percentile takes eight "
        "others; 100 is the best. It says nothing of how you change."
    ),
    "own standing caption": "You beside the others",
    "found none": "Nothing was noted about your rows.",
    "found lead": "What was noted about your rows; staff can look each one up by its code.",
    "found": "{severity}: {code} ({file}, row {row}{column}).",
    "found place": "{severity}: {code} ({file}).",
    "method": "{label} ({unit}): {formula}.",
    "method unitless": "{label}: {formula}.",
    "combine heading": "Which attempt stands for the day",
    "method combine": "{how}: {labels}.",
    "sources heading": "Sources",
    "source": "{text} ({status}).",
    "methods lead": "Times and heights stand as the instruments gave them; nothing is corrected.",
    "methods lead hand": (
        "Times and heights stand as the instruments gave them; only the race timed by hand was "
        "rounded up to 0.1 s and given 0.24 s."
    ),
    "differs": "other {name} than before ({then}, now {now})",
    "is effort": "{text}",
    "name indoor": "hall or track outdoors",
    "name start_distance_m": "distance behind the first gate",
    "name drop_height_m": "drop height",
    "name run_in_m": "run-in",
    "name leg": "leg",
    "name depth": "depth",
    "name load_is": "way of counting the load",
    "name body_mass": "counting of body mass",
    "name over": "upper result",
    "name under": "lower result",
    "name device": "device",
    "name occasion": "occasion of the day",
    "name mark": "source of the number, by its mark",
    "name attempts": "number of attempts",
    "name effort": "effort (maximal or not)",
    "name basis": "way of taking it",
    "cautions": (
        "Maximal sprints, jumps and lifts can hurt. Test only after a full warm-up, under "
        "supervision, within the rules of your club and federation; for minors with the consent "
        "of those who care for them."
    ),
    "cautions pain": (
        "Do not test through pain, illness or the end of a rehabilitation that a clinician has "
        "not signed off. Licensed medical practice and local rules come before this report."
    ),
    "cautions clearance": "This report is no medical clearance and no diagnosis.",
    # --- phases: the athlete's first page
    "next lead": "Where the next tenth may be.",
    "next none": "No sprint of yours was timed by phase this time, so nothing can be said of it.",
    "next none gates": (
        "No run of yours was timed at the ends of all its phases, so nothing can be said of it. "
        "Gates there would tell next time."
    ),
    "runs one": "your one good run",
    "runs both": "the mean of both your good runs",
    "runs many": "the mean of your {count} good runs",
    "next time": "{time}, {runs}",
    "next time one": "{time} in {runs}",
    "next out": "{phase} of your {test} took {time}.",
    "next usual": "{like} usually need {span} there.",
    "next about": "{like} usually need about {expected} there.",
    "next cost": "That may cost you about {cost} at the finish ({span}).",
    "next most": "Your coach may want to look at {phase} of your {test}: {time}.",
    "next within": "The difference is within what is usual, so it may just be your way of running.",
    "next mean": "The mean of {others} is {mean}.",
    "next beside": "Whether that is more than runners usually differ cannot be said yet.",
    "next hint": "One run is a hint, no more.",
    "next balanced": "No phase stands out: your {test} is balanced for its time.",
    "next balanced group": "No phase of your {test} stands out beside {others}.",
    "next thin": "That cannot be said yet: {why}.",
    "next again": "We look again at the next testing day.",
    "next talk lead": "What next.",
    "next talk": "Your coach will talk with you about {talk}.",
    "next maybe": "Your coach may talk with you about {phases}.",
    "like published": "Finalists with a {test} like yours",
    "like squad": "Runners with a {test} like yours",
    "beside own band": "the {n} others of your event and age",
    "beside own age": "the {n} others of your age",
    "beside own event": "the {n} others of your event",
    "beside own sex": "the {n} others of the squad",
    "thin why one": "you had one good run of the {test}",
    "thin why gate": "only one of your {count} runs of the {test} had a time at every gate",
    "thin why sex not recorded": "the squad's list lacks what it takes to choose others like you",
    "thin why too few sprints of that sex": "too few like you ran the {test} the same way so far",
    "thin why whole time outside the reference": (
        "nobody near your {test} time was timed the same way so far"
    ),
    "thin why not counted from first movement": (
        "without a reaction time your {test} counts from the gun, not from first movement"
    ),
    "thin why a single phase": "your {test} was timed in one stretch",
    "thin why reference all of one time": "those who ran the {test} like you all ran one time",
    "thin help one": "A second run would tell more.",
    "thin help gate": "A second run with every gate would tell more.",
    "thin help sex not recorded": "Your coach can fill that in.",
    "thin help too few sprints of that sex": "Each testing day adds to it.",
    "thin help whole time outside the reference": "Each testing day adds to it.",
    "thin help not counted from first movement": "A reaction time would help next time.",
    "thin help a single phase": "Gates on the way would help next time.",
    "thin help reference all of one time": "Each testing day adds to it.",
    # --- phases: the working
    "where none": "No sprint was timed by phase on this day.",
    "where lead": (
        "A slower finish comes with slower phases everywhere, and that is no weakness of one of "
        "them. So each phase stands beside what runners with your finish usually need; a gap is "
        "what is beyond that. It costs a little more at the finish than its own size, since it has "
        "made the finish slower too."
    ),
    "where runs": "Yours is {runs}.",
    "where run how": "Yours is {runs} ({how}).",
    "where line squad": (
        "Usual times: from {sprints} sprints by {people} others of your sex who ran it the same "
        "way{listed}; you are not among them."
    ),
    "where listed": " ({n} of them from the staff's table)",
    "where line published": "Usual times: from published finals of the men's 100 m.",
    "where z": (
        "They allow for timing, for how runners differ and for the line itself, {z} standard "
        "deviations either way, all phases at once."
    ),
    "where no line": (
        "No usual times for your own finish: {why} ({sprints} sprints by {people} others)."
    ),
    "where group": "The others' mean is that of {others}, each counted once.",
    "where no group": "Too few others ran it the same way to give their mean.",
    "where no group young": "Too few others of your age ran it the same way to give their mean.",
    "where nothing": "So nothing is said of its phases yet.",
    "where caption": "{test} by phase, from first movement",
    "where caption usual": (
        "{test} by phase: your time, what is usual for your finish, what the phase costs at the "
        "finish (minus: gains), each with how far it reaches"
    ),
    "col your time": "yours",
    "col usual": "usual",
    "col cost": "cost",
    "col others mean": "others' mean",
    "phase out": "stands out: slow for your time",
    "phase most": "most to gain, but within what is usual",
    "phase most group": "most to gain beside the others",
    "phase hint": "a hint of more to gain, from one run",
    "mark hint": "a hint, from one run",
    "mark one": "one run",
    "phase quicker": "quick for your time",
    "phase usual": "within what is usual",
    "phase one": "cannot tell from one run",
    "phase not slower": "not slower than the others",
    "phase slower": "slower, nothing to single out",
    "phase slower less": "slower, where others differ more",
    "axis cost": "cost at the finish (s); right of the line: time lost",
    "cost caption": (
        "{test}: what each phase costs at the finish, with how far it can be told. Square: stands "
        "out; diamond: most to gain; open circle: neither."
    ),
    "cost alt": "{test}: cost of each phase at the finish. {phases}.",
    "cost alt one": "{phase} {cost} ({span}), {word}",
    # --- targets and choices
    "targets none": "No target is set for you.",
    "targets lead": (
        "What is still to go, shared over the terms left, stands beside the most you gained from "
        "one testing day to the next so far. That is a comparison, no promise."
    ),
    "targets caption": "Your targets",
    "col target": "target",
    "col to go": "still to go",
    "col a term": "needed a term",
    "col best term": "best term",
    "col state": "state",
    "target is": "{label}\n{value}",
    "target by": "{target}\nby {date}",
    "target named": "{label} ({value})",
    "target needs one": "{value}\n1 term left",
    "target needs": "{value}\n{terms} terms left",
    "target best": "{value}\n{then} to\n{now}",
    "target state reached": "reached",
    "target state open": "open",
    "target state late": "its date has passed",
    "target state no value": "not measured so far",
    "targets reached": "Reached: {marks}. Your coach may set a new one with you.",
    "targets late": "Not reached by its date: {marks}. Your coach may look at it with you.",
    "at target lead": (
        "A {test} of {target} usually looks like this. It is how most runners of that time share "
        "it out, not a plan for you; yours may differ."
    ),
    "at target reaction": "Phases count from first movement; the reaction comes on top.",
    "at target caption": "{test} in {target}, by phase",
    "col then": "usual then",
    "col to find": "to find",
    "chosen none": "Nothing was noted as chosen for you since the last testing day.",
    "chosen": "From {date} you worked on {aim}. Since then:",
    "chosen both": "{phase} ({emphasis})",
    "of the sprint": "{phase} ({test})",
    "chosen beside": "{label}, against {date}: {verdict}",
    "chosen why not run": "That phase was not run this time, so there is nothing to set it beside.",
    "chosen why first mark": "That phase has no earlier time it can be set beside.",
    "chosen why no phase named": "No phase was named with it.",
    "chosen no proof": "That is no proof it was the work: much else changes in a term.",
    # --- the testing day
    "day title": "Testing day {date}: the account",
    "day lead": "{season}, {term}.",
    "account sum": (
        "{rows} rows were read: {used} used, {flagged} used and flagged, {aside} set aside. "
        "The rows were counted twice, by two different means."
    ),
    "account caption": "Every input row of the day",
    "col file": "file",
    "col rows": "rows",
    "col used": "used",
    "col flagged": "flagged",
    "col aside": "set aside",
    "col severity": "severity",
    "col code": "code",
    "col where": "where",
    "col message": "what and what to do",
    "col who": "athlete",
    "lineage lead": "A value worked out from several cells has a line for each of them. Rows are "
    "numbered as a spreadsheet shows them.",
    "lineage caption": "Where each number comes from",
    "col value": "value",
    "col sheet": "sheet",
    "col row": "row",
    "col column": "column",
    "findings caption": "Findings, the worst first",
    "findings none": "No finding: every row was used as it stands.",
    "grid caption": "Who did what",
    "grid lead": (
        "Done: as many attempts stand as the battery asks for. 1 of 2: fewer. Repeat now: an "
        "attempt is in doubt and too few others stand. Missing: at least half of the athlete's "
        "group did it. Limited or not done: as the staff noted. A dash: nothing was expected."
    ),
    "col athlete": "athlete",
    "field done": "done",
    "field short": "{used} of {planned}",
    "field missing": "missing",
    "field repeat": "repeat now",
    "field no mark": "no mark",
    "field limited": "limited",
    "field not done": "not done",
    "field unplanned": "–",
    "terse done": "+",
    "terse short": "{used}/{planned}",
    "terse missing": "??",
    "terse repeat": ">> {used}/{planned}",
    "terse no mark": "x",
    "terse limited": "lim",
    "terse not done": "no",
    "terse unplanned": ".",
    "legend": (
        "+ done   1/2 one attempt of two   ?? missing (half the group did it)   >> repeat now   "
        "x no mark   lim limited   no not done   . nothing expected"
    ),
    "redo heading": "Repeat now, while the gear is out:",
    "redo nothing": "Nothing to repeat: no attempt is in doubt.",
    "redo attempt": "{athlete}, {test}, attempt {attempt}{value}. {why}",
    "redo test": "{athlete}, {test}{value}. {why}",
    "redo value": ": {raw} ({column})",
    "redo others": ": {raw} ({column}), the others {others}",
    "off grid weighed": "Weighed or measured only: {names}.",
    "off grid away": "Not tested, as the staff noted: {names}.",
    "off grid unseen": "Nothing from, and no word why: {names}.",
    "off grid walk-ins": "Tested, and not on the roster of that date: {names}.",
    "off grid nobody": "Rows of nobody on the roster, set aside: {places}.",
    "mapping heading": "What each heading was taken for:",
    "findings heading": "Findings:",
    "account of file": (
        "{file}: rows read {rows} = used {used} + flagged and used {flagged} + set aside {aside}."
    ),
    "account in all": (
        "Rows read {rows} = used {used} + flagged and used {flagged} + set aside {aside}."
    ),
    "values sum": "{values} values were used and gave {results} results for {athletes} athletes.",
    # --- the squad
    "squad title": "Squad report, {date}",
    "squad lead": "{roster} on the roster, {tested} tested, {absent} without a result.",
    "squad pairs": (
        "Key measures: {values} values; {comparable} can be set beside an earlier day, {apart} "
        "cannot{reasons}, {first} are first marks."
    ),
    "squad caption": (
        "Main measures: the best now, and below it the change of the judged score; better, worse "
        "and steady are clear, where no word stands nobody can tell"
    ),
    "squad phases": "{test} by phase: time now in s, and below it the change",
    "squad better": "better",
    "squad worse": "worse",
    "squad steady": "steady",
    # --- the squad, against chance
    "check lead": "Check first:",
    "check none": "no group moved together in anything by more than its error.",
    "check gate": (
        "{test}: the stretches before and after the {gate} gate moved against each other in all "
        "{n}; was the gate moved?"
    ),
    "check together": "All {n} moved together in the {test} since {date}: {values}.",
    "check from to": "{least} to {most}",
    "check value": "{label} {moved}",
    "check others": "{count} more",
    "check more": "{count} more warnings on the next page.",
    "check ask timed": "Gate moved, wind, surface, new kit, or the whole group?",
    "check ask": "New kit, another way of doing it, or the whole group?",
    "check withheld": "Verdicts on those values are withheld.",
    "surest lead": "Surest changes.",
    "surest none": "None stays once chance is held down.",
    "surest more": "{count} more on the next page.",
    "front one": "{name}: {label}, clearly {way} (by {amount}; needs {needs}).",
    "clear lead": (
        "Measures set before the day. A change is clear when it is more than the error of its "
        "test, 9 times in 10, and at least the smallest worth having."
    ),
    "headline none": "No headline measure has an earlier day to be set beside.",
    "headline measure one": "One key measure",
    "headline measure many": "{count} key measures",
    "headline pair one": "one pair",
    "headline pair many": "{count} pairs",
    "headline pairs": "{measures}, {pairs}: {comparable} comparable, {apart} not{reasons}.",
    "headline clear lead": "Clear changes:",
    "headline clear": (
        "{better} better, {worse} worse; chance alone would give about {chance} each way. "
        "Steady {steady}, cannot tell {cannot}."
    ),
    "headline unjudged": "Not judged {count}.",
    "front lead": (
        "Held: stays clear with false finds held to one in ten. Hint: clear by itself, but may be "
        "one of those that chance makes."
    ),
    "front none": "None stays once chance is held down: read the clear ones as hints.",
    "front caption": "Every clear change of this group's key measures",
    "front held": "held",
    "front hint": "hint",
    "col change": "change",
    "col chance held": "against chance",
    # --- the coaches' first page
    "front tested lead": "Who was tested.",
    "front absent": "Not tested: {who}.",
    "front absent many": "Their names stand under “Missing tests”.",
    "front reason": "{name} ({reason})",
    "front changes caption": (
        "Key measures, set before the day: clear changes beside what chance alone would give each "
        "way; an athlete in two groups counts in both"
    ),
    "front of": "{part} of {whole}",
    "front differs": "{name}: {count}",
    "front apart": "Pairs that cannot be compared: {groups}.",
    "front apart group": "{group} ({reasons})",
    "front groups one": "One more group on the next page.",
    "front groups more": "{count} more groups on the next page.",
    "col tested": "tested",
    "col pairs": "pairs used",
    "col clearly better": "clearly better",
    "col clearly worse": "clearly worse",
    "col steady": "steady",
    "col cannot tell": "cannot tell",
    "col chance": "by chance",
    "col unjudged": "not judged",
    "front phases lead": "By phase:",
    "front phases none": "nobody ran a sprint that can be looked at by phase.",
    "front phases caption": (
        "By phase, each athlete once: with how many to talk about which stretch. There they have "
        "most to gain; only where it says so does it stand out"
    ),
    "front phase": "{phase}: {count}",
    "front phase one": "{told} (one stands out)",
    "front phase many": "{told} ({out} stand out)",
    "front nothing to talk": "nothing",
    "col talk": "talk about",
    "col balanced": "balanced",
    "col thin": "too thin",
    "col no sprint": "no sprint",
    "front chosen lead": "What was chosen last time.",
    "front chosen none": "Nothing was noted (plan.csv).",
    "front chosen": "{emphasis} for {count} of {group}: {verdicts}.",
    "front chosen more": "{count} more under “What was chosen and what became of it”.",
    "front no proof": "No proof it was the work.",
    "verdict word clearly better": "clearly better",
    "verdict word clearly worse": "clearly worse",
    "verdict word steady": "steady",
    "verdict word cannot tell": "cannot tell",
    "verdict word not comparable": "not comparable",
    "verdict word ": "not judged",
    "retest lead": "Tests to take again.",
    "retest none": "None: everything that was due was taken in full.",
    "retest not tested": "Not tested: {what}.",
    "retest not done": "Not done: {what}.",
    "retest taken easy": "Taken easy, again when cleared: {what}.",
    "retest short of attempts": "Short of attempts: {what}.",
    "retest set aside": "Set aside: {what}.",
    "retest tests": "{count} tests",
    "retest others": "others",
    "of one": "{test} (one athlete)",
    "of many": "{test} ({count} athletes)",
    "squad next lead": "Next day.",
    "next nothing": "The same tests, done the same way.",
    "next same": "Keep as before: {fields}.",
    "next gates": "Measure where they stand: {gates}.",
    "next gate": "the {gate} gate of the {test}",
    "next short": "For each athlete: {tests}.",
    "next one": "one attempt in the {test}",
    "next many": "{count} attempts in the {test}",
    # --- the coaches' next pages
    "phases squad none": "Nobody ran a sprint that can be looked at by phase.",
    "phases squad lead": (
        "Each athlete's main sprint. Below a time stands what the phase costs at the finish in s, "
        "plus is lost, with its low and high for all phases at once; where no line is in use, the "
        "gap to the mean of the others in brackets."
    ),
    "phases squad rules": (
        "Stands out: more than measurement, style and the line together can make, in two runs or "
        "more. Most to gain: more than measurement alone. Balanced: neither. Too thin: too few "
        "runs or others to say."
    ),
    "phases squad caption": "{test} by phase, in s, mean of the runs",
    "phase cost": "{cost}",
    "phase limits": "{low} to\n{high}",
    "phase to group": "({gap})",
    "col line": "what we can say, and the line in use",
    "state stands out": "stands out: {phases}",
    "state most to gain": "most to gain: {phases}",
    "state hint": "a hint, from one run: {phases}",
    "state balanced": "balanced",
    "state too thin": "too thin to say",
    "line published": "published men's finals",
    "line squad": "the squad's own: {sprints} sprints by {people}",
    "line with table": "{line}, {listed} of them of the staff's table",
    "line used": "line: {line}; z used {z}",
    "line none": "no line: {why}; {people} others",
    "line off sex not recorded": "sex not recorded",
    "line off too few sprints of that sex": "too few sprints of that sex",
    "line off whole time outside the reference": "time outside the line's range",
    "line off not counted from first movement": "not from first movement",
    "line off a single phase": "a single phase",
    "line off reference all of one time": "others all of one time",
    "emphasis none": "No phase and no physical sign calls for a talk.",
    "emphasis lead": (
        "Suggested: a phase that stands out or has most to gain, and a physical sign that fits "
        "it. One of the two alone is something to talk about."
    ),
    "emphasis caption": "From phase to training emphasis",
    "col found": "phase and what was found",
    "col signs": "signs",
    "col says": "what follows",
    "emphasis phase": "{test}, {phase}: {finding}",
    "emphasis no phase": "no phase",
    "emphasis no sign": "no sign",
    "phase found stands out": "stands out",
    "phase found most to gain": "most to gain",
    "sign lags": "{label}: lags behind the others",
    "sign fell": "{label}: fell since last time",
    "sign off": "{label}: off the staff's reference",
    "same runs": "{sign} (of the same runs)",
    "says suggested": "suggested: {emphasis}",
    "says talk about": "talk about: {emphasis}",
    "says open": "talk about it",
    "emphasis families": "Exercise families: {families}.",
    "emphasis trains": "They train: {trains}.",
    "emphasis why": "Why: {why}",
    "emphasis retest": "Retest: {tests}.",
    "emphasis practice": (
        "Common practice, no source; change it in battery.toml. It suggests, never prescribes."
    ),
    "emphasis cautions lead": "With care:",
    "emphasis cautions": (
        "progress step by step under supervision; who is growing or has been hurt takes less and "
        "slower; the advice of licensed staff comes first; no maximal and no drop-jump work on a "
        "painful joint."
    ),
    "squad chosen none": "Nothing that was chosen after the last day is noted (plan.csv).",
    "squad chosen lead": (
        "What the phase and the measures of each choice then did. No proof it was the work: others "
        "moved too, and so do tests."
    ),
    "squad chosen caption": "What was chosen and what became of it",
    "col chosen": "chosen",
    "col its phase": "its phase then",
    "col its measures": "its measures then",
    "squad chosen told": "{label}: {became}",
    "squad chosen rest": "of {n} more none clear",
    "squad chosen none clear": "none of {n} clear",
    "squad chosen what": "{emphasis} for the {phase}",
    "squad chosen on": "{what} ({date})",
    "squad chosen why": "{word}: {why}",
    "became not run": "phase not run",
    "became first mark": "first mark of that phase",
    "became no phase named": "no phase was named",
    "no emphasis": "no emphasis",
    "then lead": (
        "The same people on both days, as they are judged. A line is a person; the box holds the "
        "middle half, its line the median, its ends the lowest and highest. Nobody is named."
    ),
    "then none": "No key measure of a group has {least} comparable pairs.",
    "then table": "{group}: median and, in brackets, the middle half",
    "then caption": "{group}, then and now",
    "then alt": "{group}, then and now. {panels}",
    "then alt one": "{label}, {people} people: median then {then}, now {now}.",
    "then side": "then",
    "now side": "now",
    "then median": "{median}\n({low} to {high})",
    "col median then": "then",
    "col median now": "now",
    "col rose": "moved for the better",
    "squad targets none": "No target is noted (targets.csv).",
    "squad targets lead": (
        "Beside what is still to go: what that is for each term left, and the most gained in one "
        "term so far. Nothing is drawn on from it."
    ),
    "squad targets caption": "Targets",
    "col stands": "now",
    "col each term": "needed each term, best term",
    "goal aim": "{label}: {value}",
    "goal by": "{aim}, by {date}",
    "goal passed": "passed by {amount}",
    "goal needed": "needs {amount} a term, {terms} left",
    "goal best": "best term {amount} ({begin} to {end})",
    "goal no best": "no term to compare with",
    "goal reached": "reached",
    "goal open": "open",
    "goal late": "its date is past",
    "goal no value": "no value yet",
    "quality caption": "Findings by code; the check report has each with its place",
    "col how often": "count",
    "quality single": "One attempt where more were asked for, athletes by test: {tests}.",
    "quality single none": "Nobody has one attempt where more were asked for.",
    "quality estimated": "Estimated, not measured, athletes by test: {tests}.",
    "quality estimated none": "Nothing is estimated.",
    "missing who": "Not tested at all:",
    "missing all": "{names}.",
    "missing nothing": "Nobody lacks a test of their group's key measures or of their last day.",
    "missing tests lead": (
        "Expected are the key tests that half of a group did, and an athlete's main tests of last "
        "time. A dash: done, or not expected."
    ),
    "missing tests": "Tests to take again, by name",
    "again not tested": "not tested",
    "again not done": "not done",
    "again taken easy": "taken easy",
    "again short of attempts": "short of attempts",
    "again set aside": "set aside",
    "relations none": "No measure has {least} people of one sex under the same conditions.",
    "relations lead": (
        "{count} pairs were looked at; of so many intervals about {missed} miss the truth by "
        "chance alone. A correlation is no cause: it does not say that training the one moves the "
        "other. Minus: more of the measure goes with a faster phase."
    ),
    "relations caption": (
        "{who}, {test}: r with, in brackets, the people, one value each; below it the 95 % interval"
    ),
    "relation": "{r} ({n})\n{low} to {high}",
    "sex F": "Women",
    "sex M": "Men",
    "spread none": "No measure has five comparable changes in one group.",
    "spread lead": (
        "The spread of true changes, the error of the test taken out. Where it is no wider than "
        "the error, the athletes cannot be told apart in how they changed."
    ),
    "spread caption": "True spread of changes (SD), 90 % interval",
    "spread nothing": "no wider than error",
    "col group": "group",
    "col people": "people",
    "col spread": "spread",
    "col interval": "90 % interval",
    "interval": "{low} to {high}",
    "value interval": "{value} ({low} to {high})",
    "percent": "{value} %",
    "wobble none": "No day of this season repeats another, so published errors are used.",
    "wobble lead": (
        "From the days that repeat another: how far an athlete's judged score moves when nothing "
        "has changed. These values go before published ones."
    ),
    "wobble caption": "Typical error of the judged score",
    "col error": "typical error",
    "col cv": "CV (log)",
    "col detect": "smallest detectable change",
    "col icc": "ICC (3,1)",
    "growth none": "No height of anybody under 18 was taken on two days.",
    "growth lead": (
        "Over 0.6 cm a month is called fast here (common practice). The years from the fastest "
        "growth come from a published equation and are good to about a year either way: class "
        "nobody by them."
    ),
    "growth caption": "Growth of those under 18",
    "col growth": "growth",
    "col offset": "years from the fastest growth (± 1)",
    "flagged": "{value}, {flag}",
    "standing none": "No headline measure has five others to stand beside.",
    "standing lead": (
        "Others are of the same sex, event and age band where there are five, else of the same sex "
        "and event, else the staff's table; each once, with the latest value, never the athlete. "
        "A percentile takes eight. T: 50 is their mean, 10 their spread, more is better."
    ),
    "standing caption": "{label}: each beside the others",
    "col others": "others",
    "col their mean": "their mean",
    "col t": "T",
    "col percentile": "percentile",
    "rung own band": "{n} of own sex, event and age",
    "rung own event": "{n} of own sex and event",
    "rung staff table": "staff table",
    "force none": (
        "No run allows it: at least five gates, one at 5 m or nearer, the last at 30 m or beyond, "
        "the distance behind the first gate, body and air known, and two runs of the day."
    ),
    "force lead": (
        "From the fitted curve, the mean of the day's runs. The ratio of forces is taken from "
        "{ratio} s on; the line is drawn over {span} time constants in steps of {step} s. "
        "Air drag is included."
    ),
    "force caption": "Force, velocity and power of the acceleration: now, and below it the change",
    "squad none": "Nobody on the roster belongs to a group.",
    "squad group none": "No key measure was taken in this group.",
    "squad mean": "Mean of the group",
    "squad first": "first",
    "squad apart": "not comp.",
    "squad easy": "easy",
    "no group": "no group",
    # --- the index
    "index title": "Testing day {date}",
    "index lead": "{season}, {term}. Reports for {athletes} athletes.",
    "index note": "Files here are rebuilt as a whole; edit the season folder, not these.",
    "index staff": "For staff",
    "index athletes": "Athletes",
    "index athletes none": "Nobody has a result on this day.",
    "index athlete": "{name} ({athlete_id})",
    "index aside": "Set aside",
    "index aside one": "{code}: {where}",
    "index aside many": "{code}: {file}, {count} rows",
    "index aside none": "Nothing was set aside.",
    "index failed": "Pages that could not be made",
    "index failed one": "{page}: {why}",
    "index failed none": "Every page was made.",
    "index since": "What changed since the last build",
    "index since none": "No earlier build of this day differs from this one.",
    "since changed": "{file} changed",
    "since new": "{file} is new",
    "since gone": "files gone from {folder}: {count}",
    "since templates": "the templates changed",
    "since versions": "the versions of the tools changed",
    "since correction": "{code}: {where}",
    "since not compared": "The tables of the build before can no longer be read; no result was "
    "compared.",
    "since same results": "No result of the day changed.",
    "since result": "{athlete_id}: {label}: {before} → {after}",
    "since more": "and {count} more results",
    "since others": "results of people who are no longer on the roster: {count}",
    "revision": "Revision {code}",
    "index tables": "Tables",
    "index table": "Results as a workbook, and each table as CSV",
}


def say(key: str, **details: object) -> str:
    """The sentence ``key`` with its details filled in; raises ``KeyError`` for an unknown one."""
    return SENTENCES[key].format(**details)


def conditions(fields: dict[str, str]) -> str:
    """A comparison key in words: ``three-point start, gate clock, outdoors``."""
    words = []
    for name, text in fields.items():
        if name == "start_distance_m" and float(text) == 0:
            words.append(say("is at the line"))
        elif name == "indoor" and text in ("yes", "no"):
            words.append(say("indoors" if text == "yes" else "outdoors"))
        else:
            own = f"is {name} {text}"
            words.append(say(own if own in SENTENCES else f"is {name}", text=text))
    return ", ".join(words)


def field_name(name: str) -> str:
    """A field of the comparison key in words."""
    return SENTENCES.get(f"name {name}", name)


def apart(reason: str) -> str:
    """What differs between two days, in words, from ``field: then → now; …``."""
    told = []
    for part in reason.split("; "):
        name, _, values = part.partition(": ")
        then, _, now = values.partition(" → ")
        told.append(say("differs", name=field_name(name), then=then, now=now))
    return "; ".join(told)


def date(iso: str) -> str:
    """``Tue 14 Oct 2025``, the same under every locale."""
    day = dt.date.fromisoformat(iso)
    return f"{_WEEKDAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def month(iso: str) -> str:
    """``Oct 2025``."""
    day = dt.date.fromisoformat(iso)
    return f"{_MONTHS[day.month - 1]} {day.year}"


def short_date(iso: str) -> str:
    """``14 Oct 2025``."""
    day = dt.date.fromisoformat(iso)
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def number(value: float, decimals: int) -> str:
    """A number as a page shows it, halves away from zero, with a true minus; a dash for none.

    The value is first cut to the digits a table keeps: 1.755 is then a half, as it was written,
    and not the binary fraction just below it.
    """
    if value is None or math.isnan(value):
        return NOTHING
    kept = Decimal(repr(round(float(value), decimals + EXTRA_DECIMALS)))
    shown = str(kept.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP))
    return minus(shown if shown.strip("-0.") else shown.lstrip("-"))


def minus(text: str) -> str:
    """The text with true minus signs."""
    return text.replace("-", "\u2212")


_BY_STEP = ("jumps", "reactive", "sides", "jump ratio", "force")
"""Sections whose digits follow the instrument: a mat, a tape, a film, a plate."""


def digits(record: Measure, step: float | None = None) -> int:
    """Digits after the point that mean something.

    The last one shown is the decade nearest the step by which the instrument moves the value
    (its resolution, in the record's unit), never finer than the record's own.
    """
    known = step is not None and math.isfinite(step) and step > 0
    if not known or record.section not in _BY_STEP:
        return record.decimals
    return min(record.decimals, max(0, -round(math.log10(step))))  # type: ignore[arg-type]  # known


def half_step(record: Measure, step: float | None) -> str:
    """Half the step either way, ``\u00b1 0.06 cm``, to one digit; nothing where it is not known."""
    if step is None or not math.isfinite(step) or step <= 0:
        return ""
    half = step / 2
    shown = number(half, max(0, -math.floor(math.log10(half))))
    return say("half step", half=f"{shown} {unit(record)}".strip())


def value(amount: float, record: Measure, step: float | None = None) -> str:
    """A number with its unit, ``33.0 cm``; ``step`` is its resolution where known."""
    shown = number(amount, digits(record, step))
    return shown if shown == NOTHING or not record.unit else f"{shown} {unit(record)}"


def with_unit(shown: str, record: Measure) -> str:
    """A number already written, with the unit of its measure."""
    return shown if shown == NOTHING or not record.unit else f"{shown} {unit(record)}"


def signed_number(amount: float, decimals: int) -> str:
    """A change with its sign; zero has none."""
    shown = number(amount, decimals)
    digits = shown.replace("\u2212", "")
    if shown == NOTHING or not digits.strip("0."):
        return digits
    return shown if shown != digits else f"+{shown}"


def unit(record: Measure) -> str:
    """A unit as a page shows it; the exponent of a table's ``kg^0.67`` is raised."""
    base, mark, exponent = record.unit.partition("^")
    return base + exponent.translate(_RAISED) if mark else base


def capital(text: str) -> str:
    """The text with a capital at its start."""
    return text[:1].upper() + text[1:]


def listed(items: list[str]) -> str:
    """``a, b and c``; with semicolons where an item has a comma of its own."""
    if len(items) < 2:  # noqa: PLR2004  # one or none needs no joining
        return "".join(items)
    mark = ";" if any("," in item for item in items) else ","
    return f"{f'{mark} '.join(items[:-1])} and {items[-1]}"


def dashed(part: str) -> str:
    """A stretch with a true dash, ``10–30 m``."""
    return part.replace("-", "\u2013")
