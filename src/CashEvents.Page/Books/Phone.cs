using System.Text.Json;
using Microsoft.JSInterop;

namespace CashEvents.Page.Books;

/// <summary>How things stand between this phone and the server.</summary>
public enum Standing
{
    /// <summary>What is kept here is being read.</summary>
    Opening,

    /// <summary>Nobody is signed in, and nothing is kept here.</summary>
    SignedOut,

    /// <summary>The copy is the server's book.</summary>
    Agreed,

    /// <summary>The server does not answer.</summary>
    Away,

    /// <summary>The server answers, and lets this phone in no more.</summary>
    ShutOut,
}

/// <summary>
/// The book as this phone knows it: a copy in ink, and what was written here in pencil. What is written is kept first
/// and sent then; the rules are the book's own.
/// </summary>
public sealed partial class Phone(Browser browser, Server server, TimeProvider clock) : IDisposable
{
    private const string CopyKey = "copy";
    private const string HolderKey = "holder";

    // So many times lines are kept beside the copy before a new one is taken.
    private const int MostKeptBeside = 40;

    private static readonly JsonSerializerOptions _kept = new(JsonSerializerDefaults.Web);

    // One at a time changes or reads what is kept: what is read while something is written would be older than it.
    private readonly SemaphoreSlim _keeping = new(1);

    private BookCopy? _copy;
    private List<Pencilled> _pencil = [];
    private int _keptBeside;

    /// <summary>Something is to be shown anew.</summary>
    public event Action? Changed;

    /// <summary>How things stand.</summary>
    public Standing Standing { get; private set; }

    /// <summary>Who holds it; null where nobody is signed in.</summary>
    public Holder? Holder { get; private set; }

    /// <summary>The book with what is pencilled; null where there is none.</summary>
    public Book? Book { get; private set; }

    /// <summary>The book in ink.</summary>
    public Book? Ink => _copy?.Book;

    /// <summary>From which day on every line is here.</summary>
    public DateOnly Since => _copy?.From.Day ?? DateOnly.MinValue;

    /// <summary>The lines that are here, in ink and then in pencil.</summary>
    public IReadOnlyList<Shown> Lines { get; private set; } = [];

    /// <summary>What is written here and waits.</summary>
    public IReadOnlyList<Pencilled> Waiting => [.. _pencil.Where(p => p.CameBack is null && !StandsIn(_copy, p))];

    /// <summary>What came back.</summary>
    public IReadOnlyList<Pencilled> CameBack => [.. _pencil.Where(p => p.CameBack is not null)];

    /// <summary>What this phone alone can't write any more, with why; it waits for the server's word.</summary>
    public IReadOnlyDictionary<string, Refusal> Doubtful { get; private set; } = new Dictionary<string, Refusal>();

    /// <summary>The instant, by the server's clock as far as it is known.</summary>
    public DateTimeOffset Now => clock.GetUtcNow() - (Holder?.Ahead ?? TimeSpan.Zero);

    /// <summary>The household's day.</summary>
    public DateOnly Today => Book!.Household!.DateAt(Now);

    /// <summary>Whether a balance rests on something in pencil.</summary>
    public bool IsPencilled(string compartment) =>
        Lines.Any(line => line.Pencil is not null && line.Line.Event.About.Contains(compartment));

    /// <summary>Whether a newer page is ready to be loaded.</summary>
    public bool HasNewerPage { get; private set; }

    /// <summary>Loads the newer page. What is in pencil is on the disk, and stays there.</summary>
    public ValueTask LoadNewerPageAsync() => browser.LoadNewerAsync();

    /// <summary>Opens what is kept here; then asks the server.</summary>
    public async Task OpenAsync()
    {
        await AloneAsync(ReadKeptAsync);
        Standing = _copy is null ? Standing.Opening : Standing.Away;
        Changed?.Invoke();
        await LookAsync();
    }

    /// <summary>Listens to what is told of the book and of the browser.</summary>
    public ValueTask ListenAsync() => browser.ListenAsync(DotNetObjectReference.Create(this));

    /// <summary>Told by the browser.</summary>
    [JSInvokable]
    public async Task Told(string what)
    {
        switch (what)
        {
            case "neighbour":
                await AloneAsync(ReadKeptAsync);
                Changed?.Invoke();
                break;
            case "newer":
                HasNewerPage = true;
                Changed?.Invoke();
                break;
            case "silent" when Standing == Standing.Agreed:
                await LookAsync();
                break;
            case "line":
                await LookAsync();
                await SendAsync();
                break;
        }
    }

    /// <summary>
    /// Writes in pencil. It is on the disk when this is done; sending goes on by itself.
    /// </summary>
    /// <param name="what">What is written.</param>
    /// <param name="insteadOf">What came back, and is written anew by this.</param>
    /// <exception cref="RefusalException">A rule of the book forbids it.</exception>
    public async Task WriteAsync(Pencilled what, Pencilled? insteadOf = null)
    {
        Book!.Decide(Signed(what), Today);
        await AloneAsync(async () =>
        {
            await browser.WriteAsync(insteadOf is null ? [Keep(what)] : [Keep(what), Forget(insteadOf)]);
            _pencil = [.. _pencil.Where(p => p.Id != insteadOf?.Id), what];
            Draw();
        });
        Changed?.Invoke();
        _ = SendAsync();
    }

    /// <summary>
    /// Goes the way of a spend once, before somebody does: the first time, each step of it is prepared. Nothing is
    /// kept of it.
    /// </summary>
    public async Task RehearseAsync()
    {
        if (_copy is not { } copy || !Holder!.MayWrite
            || Book!.Compartments.Values.FirstOrDefault(c => !c.Closed && c.Cash > Money.Zero) is not { } some)
        {
            return;
        }

        var slip = Slip(Writing.Spend, some.Id) with { Amount = Book.Currency.ToDecimal(new Money(1)) };
        Drawn(copy, [.. Waiting, slip]);
        Keep(slip);
        slip.Request(inBatch: false);
        await browser.WriteAsync(Forget(slip));
    }

    /// <summary>A new slip of this phone's: with a key of its own.</summary>
    public Pencilled Slip(Writing kind, string compartment) => new()
    {
        // In order of time by its letters, for as long as there are thirteen digits of milliseconds: to the year 2286.
        Id = $"{clock.GetUtcNow().ToUnixTimeMilliseconds():D13}-{Guid.NewGuid():N}",
        Household = Holder!.Household,
        At = Now,
        Kind = kind,
        Compartment = compartment,
        OccurredOn = Today,
    };

    /// <summary>Takes back what is in pencil, or what came back.</summary>
    /// <returns>False where it may stand in the book already.</returns>
    public async Task<bool> TakeBackAsync(Pencilled what)
    {
        if (!MayTakeBack(what))
        {
            return false;
        }

        await AloneAsync(async () =>
        {
            await browser.WriteAsync(Forget(what));
            _pencil = [.. _pencil.Where(p => p.Id != what.Id)];
            Draw();
        });
        Changed?.Invoke();
        return true;
    }

    /// <summary>Whether something was never sent, so that it can be taken back.</summary>
    public bool MayTakeBack(Pencilled what) =>
        _pencil.Find(p => p.Id == what.Id) is { Lines: null } kept && (!kept.Tried || kept.CameBack is not null);

    /// <summary>Signs in with a key or a code that is good once.</summary>
    /// <returns>Why not; null when it is done.</returns>
    public async Task<Said?> SignInAsync(string? key, string? code)
    {
        var said = await server.SendAsync("api/sessions",
            new System.Text.Json.Nodes.JsonObject { [key is null ? "code" : "key"] = key ?? code });
        if (!said.IsDone)
        {
            return said;
        }

        await LookAsync();
        await SendAsync();
        return null;
    }

    /// <summary>Signs out. What is pencilled stays here; the copy goes.</summary>
    public async Task SignOutAsync()
    {
        await server.SendAsync("api/sessions", null, method: HttpMethod.Delete);
        await AloneAsync(async () =>
        {
            await browser.WriteAsync(new Kept("book", null, null), new Kept("shown", null, null));
            (_copy, Holder, Book, Lines, Standing) = (null, null, null, [], Standing.SignedOut);
        });
        Changed?.Invoke();
    }

    /// <inheritdoc />
    public void Dispose()
    {
        _looking.Dispose();
        _sending.Dispose();
        _keeping.Dispose();
    }

    private async Task AloneAsync(Func<Task> does)
    {
        await _keeping.WaitAsync();
        try
        {
            await does();
        }
        finally
        {
            _keeping.Release();
        }
    }

    private async Task ReadKeptAsync()
    {
        _pencil = [.. (await browser.AllAsync("pencil")).Select(p => JsonSerializer.Deserialize<Pencilled>(p, _kept)!)];
        var kept = (await browser.EntriesAsync("book")).ToDictionary(one => one.Key, one => one.Value,
            StringComparer.Ordinal);
        if (!kept.Remove(HolderKey, out var holder) || !kept.Remove(CopyKey, out var copy))
        {
            // Another window signed out, or nobody ever signed in.
            (_copy, Holder, Book, Lines) = (null, null, null, []);
            Standing = Standing == Standing.Opening ? Standing : Standing.SignedOut;
            return;
        }

        try
        {
            Holder = JsonSerializer.Deserialize<Holder>(holder, _kept);
            _copy = kept.Values.Select(since => Read(since)).OrderBy(since => since.Line)
                .Aggregate(Read(copy, Holder!.ReadBy).Copy!, (book, since) => book.With(
                    [.. since.Lines!.Where(line => line.Number > book.Book.Line)], since.Hash));
            _keptBeside = kept.Count;
        }
        catch (Exception unreadable) when (unreadable is JsonException or KeyNotFoundException
            or InvalidOperationException)
        {
            // An older page kept it, or a newer one did: the server gives another.
            _copy = null;
        }

        Draw();
    }

    // What this build has read whole can be read by and by, and the page shows the sooner.
    private static Fetched Read(string text, string? readBy = null) => JsonSerializer.Deserialize<Fetched>(text,
        readBy == Holder.Build ? BookJson.OfCopiesReadBefore : BookJson.OfCopies)!;

    private ICommand Signed(Pencilled what) =>
        what.Command(number => _copy!.Lines.Single(line => line.Number == number).Event) is var command
            && command is ISignedCommand signed ? signed.SignedBy(Holder!.Name) : command;

    /// <summary>Puts what is pencilled on the copy, in the order in which it was written.</summary>
    private void Draw()
    {
        if (_copy is { } copy)
        {
            (Book, Lines, Doubtful) = Drawn(copy, Waiting);
        }
    }

    private (Book Book, IReadOnlyList<Shown> Lines, IReadOnlyDictionary<string, Refusal> Doubtful) Drawn(
        BookCopy copy, IEnumerable<Pencilled> waiting)
    {
        var (book, lines, doubtful) = (copy.Book, copy.Lines.Select(line => new Shown(line, null)).ToList(),
            new Dictionary<string, Refusal>());
        foreach (var what in waiting.Where(p => p.Household == Holder!.Household && !StandsIn(copy, p)))
        {
            try
            {
                var (decided, after) = book.Decide(Signed(what), book.Household!.DateAt(Now));
                lines.AddRange(decided.Select((line, i) => new Shown(
                    new BookLine(book.Line + 1 + i, book.Line + 1, what.At, Holder!.Name, line), what)));
                book = after;
            }
            catch (Exception refused) when (refused is RefusalException or InvalidOperationException)
            {
                doubtful[what.Id] = (refused as RefusalException)?.Refusal
                    ?? new Refusal(RefusalSort.NotFound, "line-unknown", refused.Message);
            }
        }

        return (book, lines, doubtful);
    }

    private static bool StandsIn(BookCopy? copy, Pencilled what) =>
        what.Lines is { } written && written.All(line => line <= copy?.Book.Line);

    private static Kept Keep(Pencilled what) => new("pencil", what.Id, JsonSerializer.Serialize(what, _kept));

    private static Kept Forget(Pencilled what) => new("pencil", what.Id, null);
}
