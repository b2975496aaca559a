using System.Collections.Immutable;

namespace CashEvents.Store.Writing;

/// <summary>An answer given under an idempotency key.</summary>
internal sealed record Answer(byte[] Fingerprint, Entry Entry);

/// <summary>
/// Requests decided one after another, each against the book that its earlier neighbours leave. Nothing here touches
/// the database.
/// </summary>
internal sealed class Decisions(Book book, DateTimeOffset now, IReadOnlyDictionary<string, Answer> answers)
{
    private readonly Dictionary<string, Answer> _newAnswers = new(StringComparer.Ordinal);
    private readonly List<(IBookEvent Line, long EntryId, string By)> _lines = [];
    private readonly List<(ICommand Command, Exception Fault)> _faults = [];

    /// <summary>The book after all that was decided.</summary>
    public Book Book { get; private set; } = book;

    /// <summary>The lines to append, in order.</summary>
    public IReadOnlyList<(IBookEvent Line, long EntryId, string By)> Lines => _lines;

    /// <summary>Answers to keep, by idempotency key.</summary>
    public IReadOnlyDictionary<string, Answer> NewAnswers => _newAnswers;

    /// <summary>Commands that broke, for the log: told once, however often they were decided anew.</summary>
    public IReadOnlyList<(ICommand Command, Exception Fault)> Faults => _faults;

    public WriteResult Decide(WriteRequest request)
    {
        // A key that was let in a moment ago may be one that another server has revoked, or that a restored book never
        // had.
        var asks = request.KeyHash is null ? null : Book.Keys.GetValueOrDefault(request.By);
        if (request.KeyHash is { } hash
            && (asks?.Opens(hash) is true ? asks.OverAt(now) : Refusal.Stranger) is { } over)
        {
            return new WriteResult([.. request.Entries.Select(_ => new Outcome(null, over))], Book);
        }

        // A repeated request gets its answer even if the book has moved on since: that is what its key is for.
        var repeated = request.Entries.Select(AnsweredBefore).ToImmutableArray();
        if (request.IfLines is { } lines && !lines.Contains(Book.Line) && repeated.Any(r => r is null))
        {
            var stale = Refusal.MovedOn(Book.Line, lines);
            return new WriteResult([.. request.Entries.Select(_ => new Outcome(null, stale))], Book);
        }

        var before = (Book, Lines: _lines.Count);
        var keys = new List<string>();
        var outcomes = ImmutableArray.CreateBuilder<Outcome>(request.Entries.Length);
        foreach (var entry in request.Entries)
        {
            outcomes.Add(AnsweredBefore(entry) ?? Write(entry, request.By, asks, keys));
        }

        // Who asks for more than their key may is told so, and nothing is written of the rest either.
        var allowed = outcomes.All(o => o.Refusal is not { Sort: RefusalSort.NotAllowed });
        if (allowed && (!request.Together || outcomes.All(o => o.Refusal is null)))
        {
            return new WriteResult(outcomes.ToImmutable(), Book);
        }

        Book = before.Book;
        _lines.RemoveRange(before.Lines, _lines.Count - before.Lines);
        keys.ForEach(key => _newAnswers.Remove(key));
        return new WriteResult([.. outcomes.Select(
            (o, i) => o.Refusal is not null || repeated[i] is not null ? o : Outcome.WithTheOthers)], Book);
    }

    private Outcome? AnsweredBefore(EntryRequest entry)
    {
        if (entry.IdempotencyKey is not { } key
            || (!answers.TryGetValue(key, out var answer) && !_newAnswers.TryGetValue(key, out answer)))
        {
            return null;
        }

        return entry.Fingerprint.AsSpan().SequenceEqual(answer.Fingerprint)
            ? new Outcome(answer.Entry, null)
            : new Outcome(null, new Refusal(RefusalSort.Unfit, EntryRequest.KeyReused,
                $"The idempotency key '{key}' was used for another request: give this one a key of its own.",
                "idempotencyKey"));
    }

    private Outcome Write(EntryRequest request, string by, Key? asks, List<string> keys)
    {
        var before = Book;
        var today = Today(before.Household);
        Book after;
        IReadOnlyList<IBookEvent> lines;
        Entry entry;
        try
        {
            asks?.MustWrite();
            (lines, after) = before.Decide(request.Command.SignedBy(by), today);
            asks?.MustBeAllowed(lines);
            entry = Entry.Of(before, lines,
                after) with
            { Swept = SweepOf(request.Command)?.LeftBy(before, after, today).ToImmutableArray() };
        }
        catch (RefusalException refused)
        {
            return new Outcome(null, refused.Refusal);
        }
#pragma warning disable CA1031 // A fault of the program in one command must not take its neighbours along.
        catch (Exception fault)
#pragma warning restore CA1031
        {
            _faults.Add((request.Command, fault));
            return new Outcome(null, new Refusal(RefusalSort.Broken, "unexpected",
                "Something went wrong that should not have, and nothing of this was written; the program's log says "
                    + "more."));
        }

        Book = after;
        _lines.AddRange(lines.Select(line => (line, before.Line + 1, by)));

        // Nothing written is nothing to remember: asked again, it may find something to do.
        if (request.IdempotencyKey is { } key && lines.Count > 0)
        {
            _newAnswers.Add(key, new Answer(request.Fingerprint!, entry));
            keys.Add(key);
        }

        return new Outcome(entry, null);
    }

    private static RecordSweep? SweepOf(ICommand command) =>
        command as RecordSweep ?? (command as CloseMonth)?.LastSweep;

    private DateOnly Today(Household? household) => household?.DateAt(now) ?? DateOnly.FromDateTime(now.UtcDateTime);
}
