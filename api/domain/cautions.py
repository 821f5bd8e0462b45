"""What must stand beside every computed figure."""

CAUTIONS = (
    "Estimates for planning, from idealised models and typical data. Clamps, tools and parts can be "
    "thrown. Follow the clamp maker's and the machine maker's instructions, the shop's own safety "
    "rules and local codes; have a competent person approve a fixture before it is used; prove out "
    "at reduced feed with guards closed; wear eye protection; use lifting gear for heavy plates."
)
