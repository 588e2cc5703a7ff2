"""The day itself: the diary, where everything stands, planning again."""
