"""The only place that puts the steps in order; the command line and the page both call it.

``check`` reads a pour folder and gives findings, coverage and a decision; it writes nothing.
``new_folder``, ``add_photos`` and ``add_tape`` put evidence into a folder; ``measure_photos`` measures photos alone.
"""
