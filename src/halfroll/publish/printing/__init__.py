"""Models as files for a slicer or a drawing board: 3MF, STL, STEP, and a picture."""
