using System.Text;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

/// <summary>Requests decided one after another, before anything is asked of the database.</summary>
public sealed class DecisionsTests
{
    private const string Ferry = "ferry-fares";
    private const string KeepersHash = "0a";
    private const string ScriptsHash = "0b";

    private static readonly DateTimeOffset _now = new(2026, 9, 24, 12, 0, 0, TimeSpan.Zero);

    private static readonly IBookEvent[] _opening =
    [
        new HouseholdDescribed("Harbour Row", "EUR", "Europe/Dublin", DayOfWeek.Monday),
        new WalletOpened("market-bag", "Market bag"),
        new CompartmentOpened(Ferry, "Ferry fares", "market-bag", Purpose.Spending),
        new KeyIssued("keeper", Role.Keeper, [], KeepersHash),
        new KeyIssued("till script", Role.Script, [MovementKind.Fill], ScriptsHash),
    ];

    private static readonly Book _book = _opening.Aggregate(Book.Empty, (book, line) => book.Apply(line));

    [Fact]
    public void Of_a_batch_that_is_refused_nothing_is_left_and_its_idempotency_keys_are_free()
    {
        var decisions = Given();

        var refused = decisions.Decide(Batch(Fill(10m, "first"), Spend(99m, "second")));

        Assert.Equal(["not-written-with-others", "not-enough"], refused.Outcomes.Select(o => o.Refusal?.Code));
        Assert.Empty(decisions.NewAnswers);
        Assert.Empty(decisions.Lines);
        Assert.Same(_book, decisions.Book);

        // The mended batch has the same names, and says something else under them.
        var mended = decisions.Decide(Batch(Fill(99m, "first"), Spend(98m, "second")));

        Assert.All(mended.Outcomes, o => Assert.Null(o.Refusal));
        Assert.Equal(["first", "second"], decisions.NewAnswers.Keys.Order());
        Assert.Equal([(_book.Line + 1, "keeper"), (_book.Line + 2, "keeper")],
            decisions.Lines.Select(l => (l.EntryId, l.By)));
    }

    [Fact]
    public void A_batch_that_is_refused_takes_nothing_of_an_earlier_neighbour_along()
    {
        var decisions = Given();
        var first = decisions.Decide(Batch(Fill(10m, "neighbours"))).Outcomes.Single().Entry;

        decisions.Decide(Batch(Fill(1m, "mine"), Spend(99m, "mine too")));

        Assert.Equal("neighbours", Assert.Single(decisions.NewAnswers).Key);
        Assert.Equal(first!.Id, Assert.Single(decisions.Lines).EntryId);
        Assert.Equal(_book.Line + 1, decisions.Book.Line);
        Assert.Same(first, decisions.Decide(Batch(Fill(10m, "neighbours"))).Outcomes.Single().Entry);
    }

    [Fact]
    public void Of_requests_that_need_not_stand_together_the_others_are_written()
    {
        var decisions = Given();

        var result = decisions.Decide(Batch(Fill(10m, "first"), Spend(99m, "second"), Spend(4m, "third")) with
        {
            Together = false
        });

        Assert.Equal([null, "not-enough", null], result.Outcomes.Select(o => o.Refusal?.Code));
        Assert.Equal(["first", "third"], decisions.NewAnswers.Keys.Order());
        Assert.Equal(2, decisions.Lines.Count);
    }

    [Fact]
    public void Whoever_asks_for_more_than_their_key_may_gets_nothing_written_and_keeps_the_names()
    {
        var decisions = Given();

        var result = decisions.Decide(Batch(Fill(10m, "first"), Spend(4m, "second")) with
        {
            By = "till script",
            KeyHash = ScriptsHash,
            Together = false,
        });

        Assert.Equal(["not-written-with-others", "not-allowed"], result.Outcomes.Select(o => o.Refusal?.Code));
        Assert.Empty(decisions.NewAnswers);
        Assert.Empty(decisions.Lines);
    }

    [Theory]
    [InlineData("keeper", "0c")]
    [InlineData("nobody", KeepersHash)]
    public void A_key_that_the_book_does_not_know_writes_nothing(string by, string hash)
    {
        var decisions = Given();

        var result = decisions.Decide(Batch(Fill(10m, "first")) with { By = by, KeyHash = hash });

        Assert.Equal(Refusal.Stranger, result.Outcomes.Single().Refusal);
        Assert.Empty(decisions.Lines);
    }

    [Fact]
    public void A_name_that_is_used_twice_in_one_batch_writes_once_and_another_request_under_it_is_refused()
    {
        var decisions = Given();

        var twice = decisions.Decide(Batch(Fill(10m, "same"), Fill(10m, "same")));
        var other = decisions.Decide(Batch(Fill(11m, "same")));

        Assert.Same(twice.Outcomes[0].Entry, twice.Outcomes[1].Entry);
        Assert.Single(decisions.Lines);
        Assert.Equal(EntryRequest.KeyReused, other.Outcomes.Single().Refusal?.Code);
    }

    [Fact]
    public void A_book_that_moved_on_refuses_what_is_new_and_answers_what_it_answered_before()
    {
        var decisions = Given();
        var first = decisions.Decide(Batch(Fill(10m, "first")) with { IfLines = [_book.Line] });

        var again = decisions.Decide(Batch(Fill(10m, "first")) with { IfLines = [_book.Line] });
        var stale = decisions.Decide(Batch(Fill(10m, "first"), Fill(5m, "second")) with { IfLines = [_book.Line] });

        Assert.Same(first.Outcomes.Single().Entry, again.Outcomes.Single().Entry);
        Assert.All(stale.Outcomes, o => Assert.Equal(RefusalSort.Stale, o.Refusal?.Sort));
        Assert.Single(decisions.Lines);
    }

    [Fact]
    public void What_wrote_nothing_is_not_remembered_and_what_broke_is_told_to_the_log()
    {
        var decisions = Given();

        var idle = decisions.Decide(Batch(new EntryRequest(new Idle(), "idle", [1])));
        var broken = decisions.Decide(
            Batch(Fill(10m, "first"), new EntryRequest(new Broken(), "broken", [1])) with { Together = false });

        Assert.Null(idle.Outcomes.Single().Refusal);
        Assert.Equal([null, "unexpected"], broken.Outcomes.Select(o => o.Refusal?.Code));
        Assert.Equal("first", Assert.Single(decisions.NewAnswers).Key);
        Assert.IsType<NotSupportedException>(Assert.Single(decisions.Faults).Fault);
        Assert.Single(decisions.Lines);
    }

    private static Decisions Given() => new(_book, _now, new Dictionary<string, Answer>());

    private static WriteRequest Batch(params EntryRequest[] entries) => new("harbour-row", "keeper", [.. entries]);

    private static EntryRequest Fill(decimal amount, string key) =>
        new(new RecordFill(Ferry, Holding.Cash, amount, null, null), key, Encoding.UTF8.GetBytes($"fill {amount}"));

    private static EntryRequest Spend(decimal amount, string key) =>
        new(new RecordSpend(Ferry, Holding.Cash, amount, null, null), key, Encoding.UTF8.GetBytes($"spend {amount}"));

    private sealed record Idle : ICommand
    {
        public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today) => [];
    }

    private sealed record Broken : ICommand
    {
        public IReadOnlyList<IBookEvent> Decide(Book book, DateOnly today) => throw new NotSupportedException();
    }
}
