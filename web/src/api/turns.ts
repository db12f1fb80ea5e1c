/** One question that is asked again and again: an answer that comes after the answer to a later asking is old, and must not overwrite it. */
export class Turns {
  private begun = 0;
  private answered = 0;

  /** Call it when asking. What comes back says, once the answer is there, whether that is still news. */
  ask(): () => boolean {
    const turn = ++this.begun;
    return () => {
      const news = turn > this.answered;
      if (news) this.answered = turn;
      return news;
    };
  }
}
