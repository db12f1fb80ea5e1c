"""The only home of `import av`: open a movie, a sequence of pictures or a sound; its frames, its sound, its proxy."""

from shotcrit.media.info import MovieInfo, Sound, SoundInfo
from shotcrit.media.mixing import MixedSound
from shotcrit.media.movie import Movie, open_movie
from shotcrit.media.picture import Picture

__all__ = ["MixedSound", "Movie", "MovieInfo", "Picture", "Sound", "SoundInfo", "open_movie"]
