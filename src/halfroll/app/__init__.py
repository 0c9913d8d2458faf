"""The local web app: pages over the workshop, served to this machine only.

::

    server.py    binds 127.0.0.1, serves, stops          guard.py   who may ask (Host and Origin)
    frame.py     what every page shares                  assets.py  style sheet, font, chart library
    view.py      templates, numbers and words on screen
    chart.py     a curve one can point at                field.py   form fields with their error beside them
    job.py       long work: progress and stopping        dom.py     plain HTML elements
    asked.py     what a comparison's address asks for    address.py where pages are
    standing.py  where a version stands
    intake.py    files dropped on a page                 typed.py   what was typed, checked
    taking.py    from the import page to a take
    solver.py    the motor's solver in a warm process    drawing.py a drawing to scale with handles
    design_*.py  a design while it is worked on
    pages/       one file a page
"""
