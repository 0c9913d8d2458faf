"""Whether a specification keeps to the chart language."""

import altair as alt

from halfroll.publish.spec import Spec


def assert_valid(spec: Spec) -> None:
    """Raise unless the specification is valid by the Vega-Lite schema that comes with Altair.

    Every layer's data must be among the data sets; their rows are left out, because checking thousands of free-form
    rows says nothing and takes long.
    """
    assert {layer["data"]["name"] for layer in spec["layer"]} <= set(spec["datasets"])
    alt.LayerChart.from_dict({**spec, "datasets": {}}, validate=True)
