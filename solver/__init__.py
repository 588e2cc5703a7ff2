"""What is computed: sun, cookers, food, timetable. Knows `events`; knows no door."""
