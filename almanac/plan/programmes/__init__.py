"""Care whose days are worked out: a file a programme, each adding its tasks and looks to the plan. Pure."""
