"""Static web pages of a workshop for visitors: plain files in a folder, no server, no network, relative links only.

::

    site_files(workshop, versions=(), date="2026-05-02", progress=...) -> {name in the folder: bytes}
    build_site(workshop, folder, versions=(), date="2026-05-02", progress=...) -> Built
    zipped(files) -> bytes                    the same as one file to take along

Pages read without a script: drawings and curves are SVG in the page. Where scripts run, curves answer to pointer and arrow keys, and versions can
be taken out of a comparison. What is private does not come along: stock, prices, builders' checks, photographs, rigs' serial numbers, and
paragraphs of notes that begin with "Private:".
"""

from halfroll.publish.site.files import site_files as site_files
from halfroll.publish.site.write import Built as Built
from halfroll.publish.site.write import build_site as build_site
from halfroll.publish.site.write import zipped as zipped
