"""The local web app: pages over the workshop, served to this machine only.

::

    server.py    binds 127.0.0.1, serves, stops          guard.py   who may ask (Host and Origin)
    frame.py     what every page shares                  assets.py  style sheet, font, chart library
    view.py      templates, numbers and words on screen  section.py the drawing of a version
    chart.py     a curve one can point at                field.py   form fields with their error beside them
    job.py       long work: progress and stopping        intake.py  files dropped on a page
    pages/       one file a page
"""
