"""What could be cooked where and when, without a timetable."""
