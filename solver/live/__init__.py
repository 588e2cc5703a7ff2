"""The day itself: the diary, where everything stands, a plan made anew."""
