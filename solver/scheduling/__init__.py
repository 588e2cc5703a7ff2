"""The timetable: question, model, solve, answer; and a check that knows none of them."""
