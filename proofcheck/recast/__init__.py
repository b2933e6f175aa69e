"""Which slugs to cast again, and what each must say.

The widths of the letters come from the proof itself (`widths`, `galley`); each paragraph with a
fault in it becomes a problem of line ends (`stretch`, `breaks`, `justify`), whose best answer has
the fewest new slugs (`search`); the answers together are the plan (`plan`), told to the machine
and to the stone (`results.castlists`), with the sorts of the case (`handset`) and the cost
(`cost`).
"""
